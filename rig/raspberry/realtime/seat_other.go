//go:build !linux

package realtime

// Ask asks for nothing: only Linux grants seats.
func (s Seat) Ask() (refused []string) {
	if s != (Seat{}) {
		refused = []string{"a processor of its own, real-time rank, memory in RAM: this system is not Linux"}
	}
	return refused
}
