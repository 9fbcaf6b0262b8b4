package realtime

import (
	"fmt"
	"os"
	"strconv"

	"golang.org/x/sys/unix"
)

// leaveTo moves all threads of the program off the processor that the loop is to have. Those that start
// later come where the thread is that starts them; the loop's starts none, as Go keeps
// a thread apart for that.
func leaveTo(scheduling Scheduling) error {
	if scheduling.CPU == 0 {
		return nil
	}
	moved := map[int]bool{}
	for {
		threads, err := os.ReadDir("/proc/self/task")
		if err != nil {
			return fmt.Errorf("threads off processor %d: %w", scheduling.CPU-1, err)
		}
		known := len(moved)
		for _, d := range threads {
			id, err := strconv.Atoi(d.Name())
			if err != nil || moved[id] {
				continue
			}
			moved[id] = true
			var set unix.CPUSet
			if unix.SchedGetaffinity(id, &set) != nil || !set.IsSet(scheduling.CPU-1) {
				continue // it has ended, or is off already
			}
			if set.Clear(scheduling.CPU - 1); set.Count() == 0 {
				return fmt.Errorf("threads off processor %d: there is no other; let the program run on more", scheduling.CPU-1)
			}
			if err := unix.SchedSetaffinity(id, &set); err != nil && err != unix.ESRCH {
				return fmt.Errorf("threads off processor %d: %w", scheduling.CPU-1, err)
			}
		}
		if len(moved) == known { // none has started since by one that was still to move
			return nil
		}
	}
}
