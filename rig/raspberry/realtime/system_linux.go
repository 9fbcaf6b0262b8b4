package realtime

import (
	"errors"
	"fmt"
	"os"
	"strconv"

	"golang.org/x/sys/unix"

	"hilrig/rig/signal"
)

// System is the machine's monotonic clock, which all of its processes share. Its zero
// value is ready, and it may be used by several goroutines.
type System struct{}

// Now returns the time since the machine was started, as CLOCK_MONOTONIC counts it.
func (System) Now() signal.Time {
	var ts unix.Timespec
	_ = unix.ClockGettime(unix.CLOCK_MONOTONIC, &ts) // it cannot fail: the clock exists and ts is ours
	return signal.Time(ts.Nano())
}

// SleepUntil has the calling thread sleep by itself: it wakes by its own priority, and
// not when the one that keeps Go's timers gets round to it. A signal wakes it early.
func (System) SleepUntil(t signal.Time) {
	ts := unix.NsecToTimespec(int64(t))
	_ = unix.ClockNanosleep(unix.CLOCK_MONOTONIC, unix.TIMER_ABSTIME, &ts, nil)
}

// Pause lets time pass. The calling thread sleeps by itself: it wakes by its own
// priority, and not when the one that keeps Go's timers gets round to it.
func Pause(t signal.Time) {
	for t > 0 {
		left := unix.NsecToTimespec(int64(t))
		if err := unix.ClockNanosleep(unix.CLOCK_MONOTONIC, 0, &left, &left); !errors.Is(err, unix.EINTR) {
			return
		}
		t = signal.Time(left.Nano())
	}
}

// Sharpen has the calling thread woken when it asked to be, not with others.
func Sharpen() { unix.Prctl(unix.PR_SET_TIMERSLACK, 1, 0, 0, 0) }

// Ask asks for the scheduling, for the calling thread, and returns what was denied,
// each with the remedy.
func (s Scheduling) Ask() (denied []string) {
	if s.CPU > 0 {
		var set unix.CPUSet
		set.Set(s.CPU - 1)
		if err := unix.SchedSetaffinity(0, &set); err != nil {
			denied = append(denied, fmt.Sprintf("to run on processor %d alone: %v; name one that this machine has", s.CPU-1, err))
		}
	}
	if s.Priority > 0 {
		attr := unix.SchedAttr{Size: unix.SizeofSchedAttr, Policy: unix.SCHED_FIFO, Priority: uint32(s.Priority)}
		if err := unix.SchedSetAttr(0, &attr, 0); err != nil {
			denied = append(denied, fmt.Sprintf("real-time priority %d: %v; give the program CAP_SYS_NICE, anew after each copy", s.Priority, err))
		}
	}
	if s.Lock {
		if err := unix.Mlockall(unix.MCL_CURRENT | unix.MCL_FUTURE); err != nil {
			denied = append(denied, fmt.Sprintf("to keep memory in RAM: %v; give the program CAP_IPC_LOCK, anew after each copy", err))
		}
	}
	return denied
}

// leaveTo moves all threads of the program off the processors that the loop, and what works beside it, are to have. Those that start
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
			if unix.SchedGetaffinity(id, &set) != nil || !scheduling.leave(&set) {
				continue // it has ended, or is where it may be
			}
			if set.Count() == 0 {
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

// leave takes the processors of the loop, and of what works beside it, from those that another thread may run on, and says
// whether that changes anything. One that runs on the second of them alone works beside the loop.
func (s Scheduling) leave(set *unix.CPUSet) bool {
	before := *set
	second := s.Second > 0 && set.IsSet(s.Second-1)
	if second && set.Count() == 1 {
		return false
	}
	set.Clear(s.CPU - 1)
	if second {
		set.Clear(s.Second - 1)
	}
	return *set != before
}
