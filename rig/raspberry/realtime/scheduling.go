package realtime

import (
	"io/fs"
	"runtime"
	"strconv"
	"strings"
)

// Scheduling is what the operating system is asked to grant the loop. The zero value
// asks for nothing.
type Scheduling struct {
	CPU      int  // run on this one alone, counted from 1; 0: on any
	Priority int  // SCHED_FIFO priority, 1 to 99; 0: as any program
	Lock     bool // keep the program's memory in RAM
	// Second is the processor, counted from 1, of what works beside the loop: the ticks, what writes to
	// ports, the supervisor. 0: there is none for them, and they run wherever the rest runs.
	Second int
}

// Beside returns the scheduling of something that works beside the loop, at a priority of its own.
func (s Scheduling) Beside(priority int) Scheduling {
	return Scheduling{CPU: s.Second, Priority: priority}
}

// TickPriority is the priority of the one that plays tick by tick, beside a loop that has a priority.
func (s Scheduling) TickPriority() int { return max(s.Priority-1, 2) }

// Watching returns the scheduling of what has to act while anything else is at work: the supervisor, and what
// hears it. Where the ticks share its processor it goes before them; elsewhere it is above what the
// machine does besides, and below the loop.
func (s Scheduling) Watching() Scheduling {
	if s.Second > 0 {
		return s.Beside(LoopPriority)
	}
	return s.Beside(watchPriority)
}

const watchPriority = 60

// Request asks for the scheduling for the calling goroutine, which gets a thread of its own
// that ends with it, and returns what was denied, each with the remedy. The one that
// waits for a bench needs a priority above the loop's.
func (s Scheduling) Request() (denied []string) {
	runtime.LockOSThread()
	return s.Ask()
}

// LoopPriority is the priority of a loop that has a processor of its own: above the kernel's own
// threads for interrupts, which have 50, and below those that keep the kernel alive, 99.
const LoopPriority = 80

// enoughProcessors is how many a machine needs that one can be taken from it without
// having been set aside.
const enoughProcessors = 4

// DefaultScheduling returns the scheduling that suits a machine whose root, which holds sys, is
// given: the last of its isolated processors, or, where none is isolated, the last of
// four or more. Where two or more are isolated the second last is for what works beside the loop, and shares
// nothing with the rest of the machine. On a machine with fewer the loop asks for no processor and no priority, as
// nothing else could run beside it.
func DefaultScheduling(root fs.FS) Scheduling {
	scheduling := Scheduling{Lock: true}
	if isolated := processorList(KernelText(root, "sys/devices/system/cpu/isolated")); len(isolated) > 0 {
		scheduling.CPU = isolated[len(isolated)-1] + 1
		if n := len(isolated); n > 1 {
			scheduling.Second = isolated[n-2] + 1
		}
	} else if online := processorList(KernelText(root, "sys/devices/system/cpu/online")); len(online) >= enoughProcessors {
		scheduling.CPU = online[len(online)-1] + 1
	}
	if scheduling.CPU > 0 {
		scheduling.Priority = LoopPriority
	}
	return scheduling
}

// processorList reads a list as the kernel writes it, "0-1,3", in order. It is empty
// where the list is not one.
//
// Source: torvalds/linux, Documentation/admin-guide/cputopology.rst.
func processorList(list string) (numbers []int) {
	for part := range strings.SplitSeq(strings.TrimSpace(list), ",") {
		low, high, span := strings.Cut(part, "-")
		first, err := strconv.ParseUint(low, 10, 16)
		last := first
		if span && err == nil {
			last, err = strconv.ParseUint(high, 10, 16)
		}
		if err != nil {
			return nil
		}
		for n := first; n <= last; n++ {
			numbers = append(numbers, int(n))
		}
	}
	return numbers
}

// KernelText returns what a small file of the kernel holds, without the zero or line break
// at its end; empty where it cannot be read.
func KernelText(root fs.FS, path string) string {
	data, err := fs.ReadFile(root, path)
	if err != nil {
		return ""
	}
	return strings.TrimRight(string(data), "\x00\n ")
}
