package realtime

import (
	"fmt"

	"golang.org/x/sys/unix"
)

// Ask asks for the scheduling, for the calling thread, and returns what was refused,
// each with the remedy.
func (s Scheduling) Ask() (refused []string) {
	if s.CPU > 0 {
		var set unix.CPUSet
		set.Set(s.CPU - 1)
		if err := unix.SchedSetaffinity(0, &set); err != nil {
			refused = append(refused, fmt.Sprintf("to run on processor %d alone: %v; name one that this machine has", s.CPU-1, err))
		}
	}
	if s.Priority > 0 {
		attr := unix.SchedAttr{Size: unix.SizeofSchedAttr, Policy: unix.SCHED_FIFO, Priority: uint32(s.Priority)}
		if err := unix.SchedSetAttr(0, &attr, 0); err != nil {
			refused = append(refused, fmt.Sprintf("real-time priority %d: %v; give the program CAP_SYS_NICE", s.Priority, err))
		}
	}
	if s.Lock {
		if err := unix.Mlockall(unix.MCL_CURRENT | unix.MCL_FUTURE); err != nil {
			refused = append(refused, fmt.Sprintf("to keep memory in RAM: %v; give the program CAP_IPC_LOCK", err))
		}
	}
	return refused
}
