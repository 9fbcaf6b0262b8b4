package realtime

import (
	"fmt"
	"math"
	"os"
	"runtime"
	"runtime/debug"
	"slices"
	"strconv"
	"strings"
	"syscall"
)

// LeastProcs is how many goroutines Go has to let run at once: the loop, which never
// gives way, the ticks, and one to spare.
const LeastProcs = 3

// WorkerEnv returns env as a program that plays in real time needs it, to be started
// with: Go neither interrupts a running loop to let others run (GODEBUG
// asyncpreemptoff=1), nor collects garbage (GOGC=off), which would wait for the loop
// without end; and lets three goroutines run at once or more. Other settings of
// GODEBUG stay. Of several values for one name the last counts, as with os/exec. The
// program itself calls [EnterRealTime].
func WorkerEnv(env []string) []string {
	value := map[string]string{}
	out := slices.DeleteFunc(slices.Clone(env), func(e string) bool {
		name, v, _ := strings.Cut(e, "=")
		own := slices.Contains(environmentNames, name)
		if own {
			value[name] = v
		}
		return own
	})
	settings := slices.DeleteFunc(strings.Split(value["GODEBUG"], ","), func(s string) bool {
		name, _, _ := strings.Cut(s, "=")
		return s == "" || name == "asyncpreemptoff"
	})
	settings = append(settings, "asyncpreemptoff=1")
	procs, err := strconv.Atoi(value["GOMAXPROCS"])
	if err != nil || procs < LeastProcs {
		procs = max(LeastProcs, runtime.NumCPU())
	}
	return append(out, "GODEBUG="+strings.Join(settings, ","), "GOGC=off", "GOMEMLIMIT=off", "GOMAXPROCS="+strconv.Itoa(procs))
}

// environmentNames are the variables that WorkerEnv sets. Go reads them as a program
// starts: to set them later is too late.
var environmentNames = []string{"GODEBUG", "GOGC", "GOMEMLIMIT", "GOMAXPROCS"}

// environmentFits says whether a program that was started with env needs no other.
func environmentFits(env []string) bool {
	return slices.Equal(slices.Sorted(slices.Values(env)), slices.Sorted(slices.Values(WorkerEnv(env))))
}

// EnterRealTime makes this program fit to play in real time, before it opens a bench: it
// starts itself anew, in its own place and with its own arguments, where its
// environment is not that of [WorkerEnv], does not return then, and runs from the top
// once more. In the program that is fit it switches garbage collection off and moves
// all threads off the processor of [DefaultScheduling], which the loop's own then moves to
// alone.
//
// It comes before anything is read or written: what is in buffers is lost. On an error
// the program is as it was, or slower than it could be, and goes on.
func EnterRealTime() error {
	if env := os.Environ(); !environmentFits(env) {
		path, err := os.Executable()
		if err == nil {
			err = syscall.Exec(path, os.Args, WorkerEnv(env))
		}
		return fmt.Errorf("the program cannot start itself anew for real time: %w; start it with GODEBUG=asyncpreemptoff=1 GOGC=off GOMEMLIMIT=off GOMAXPROCS=%d", err, max(LeastProcs, runtime.NumCPU()))
	}
	debug.SetGCPercent(-1)
	debug.SetMemoryLimit(math.MaxInt64)
	return leaveTo(DefaultScheduling(os.DirFS("/")))
}
