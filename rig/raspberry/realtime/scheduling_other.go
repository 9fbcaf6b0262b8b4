//go:build !linux

package realtime

// Ask asks for nothing: only Linux grants scheduling.
func (s Scheduling) Ask() (refused []string) {
	if s != (Scheduling{}) {
		refused = []string{"a processor of its own, real-time priority, memory in RAM: this system is not Linux"}
	}
	return refused
}
