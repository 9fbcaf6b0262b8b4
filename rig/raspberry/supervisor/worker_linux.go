package supervisor

import (
	"context"
	"errors"
	"fmt"
	"os"
	"os/signal"
	"runtime"
	"syscall"

	"golang.org/x/sys/unix"

	"hilrig/rig/raspberry/realtime"
)

// marker is the variable that tells a program that it is a worker.
const marker = "HILRIG_SUPERVISED"

// The worker's ends of the pipes.
const (
	messagesOut = 3
	commandsIn  = 4
)

// Inside says whether this program was started by a supervisor.
func Inside() bool { return os.Getenv(marker) != "" }

// Join takes up with the supervisor that started this program. It is called once, early.
// The worker's [Worker.Context] ends when ctx does, when the supervisor says so, and when
// the supervisor is dead or stands still. From then on the terminal cannot stop this program.
func Join(ctx context.Context) (*Worker, error) {
	os.Unsetenv(marker) // not for programs that this one starts
	for _, fd := range []int{messagesOut, commandsIn} {
		var about unix.Stat_t
		if err := unix.Fstat(fd, &about); err != nil || about.Mode&unix.S_IFMT != unix.S_IFIFO {
			return nil, fmt.Errorf("%s is set and there is no supervisor; unset it", marker)
		}
		unix.CloseOnExec(fd)
		if err := unix.SetNonblock(fd, true); err != nil {
			return nil, fmt.Errorf("the pipe to the supervisor: %w", err)
		}
	}
	for n := range MostExtra {
		unix.CloseOnExec(extra + n) // where there is none nothing happens
	}
	signal.Notify(make(chan os.Signal, 1), syscall.SIGPIPE) // whoever read its output may be gone: it still ends in order
	signal.Ignore(syscall.SIGTSTP, syscall.SIGTTIN, syscall.SIGTTOU)
	w := newWorker(ctx, realtime.System{}, &pipes{out: messagesOut, in: commandsIn, parent: os.Getppid()})
	go w.listen()
	return w, nil
}

// listen looks after the worker for as long as the program runs.
func (w *Worker) listen() {
	runtime.LockOSThread()                                        // the priority is a thread's
	request(realtime.DefaultScheduling(os.DirFS("/")).Watching()) // before the ticks, as the relay may have to be opened
	for {
		w.pass()
		w.clock.SleepUntil(w.clock.Now() + listenEvery)
	}
}

// pipes are the way to the supervisor.
type pipes struct{ out, in, parent int }

func (p *pipes) say(message []byte) { _, _ = unix.Write(p.out, message) } // full: there is no need to say more

func (p *pipes) hear(dst []byte) (n int, ended bool) { return hear(p.in, dst) }

// hear takes what is in a pipe. Ended says that nobody has its other end.
func hear(fd int, dst []byte) (n int, ended bool) {
	for {
		switch n, err := unix.Read(fd, dst); {
		case errors.Is(err, unix.EINTR):
		case err != nil: // nothing yet
			return 0, false
		default:
			return n, n == 0
		}
	}
}

// kill ends the supervisor. Where that has ended already, this process has another parent.
func (p *pipes) kill() {
	if os.Getppid() == p.parent {
		_ = unix.Kill(p.parent, unix.SIGKILL)
	}
}

func (p *pipes) exit(code int) { os.Exit(code) }

func (p *pipes) note(text string) { fmt.Fprintln(os.Stderr, "hilrig:", text) }
