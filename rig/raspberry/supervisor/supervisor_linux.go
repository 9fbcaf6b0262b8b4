package supervisor

import (
	"errors"
	"fmt"
	"os"
	"os/exec"
	"os/signal"
	"runtime"
	"runtime/debug"
	"strings"
	"syscall"

	"golang.org/x/sys/unix"

	"hilrig/rig/raspberry/realtime"
)

// asking are the signals by which somebody wants it to end.
var asking = map[os.Signal]string{
	syscall.SIGINT: "Ctrl-C", syscall.SIGTERM: "asked to end", syscall.SIGHUP: "the terminal was closed", syscall.SIGTSTP: "Ctrl-Z",
}

// Run starts this program once more, with the same arguments, as the worker, and
// stands before the motors until it has ended: relay open, heartbeat stopped, lines at
// their safe levels. What an earlier run left otherwise is made safe first, and reported on stderr. The error says why nothing was started, or which line is not as it should be.
//
// The worker is in a process group of its own, so that Ctrl-C reaches the supervisor alone.
// Meanwhile the supervisor takes SIGINT, SIGTERM, SIGHUP and SIGTSTP, Ctrl-Z, for itself, and the
// terminal cannot stop it where it runs in the background.
func Run(s Settings) (Ending, error) {
	runtime.LockOSThread() // the priority is a thread's
	defer runtime.UnlockOSThread()
	defer debug.SetGCPercent(debug.SetGCPercent(-1)) // nothing here makes garbage worth a pause
	found, err := s.Tidy()
	if found != "" {
		fmt.Fprintln(os.Stderr, "hilrig:", found)
		s.Found = strings.TrimPrefix(s.Found+"; "+found, "; ")
	}
	if err != nil {
		return Ending{}, err
	}
	lines, err := openLines(&s.Parts, realtime.System{}, s.Untested)
	if err != nil {
		return Ending{}, err
	}
	defer lines.Close()
	defer s.openRelay(lines) // a panic of the supervisor's own included
	asked := make(chan os.Signal, 8)
	for s := range asking {
		signal.Notify(asked, s)
	}
	defer signal.Stop(asked)                                // whoever took one before goes on taking it
	signal.Notify(make(chan os.Signal, 1), syscall.SIGPIPE) // whoever read our output may be gone
	signal.Ignore(syscall.SIGTTIN, syscall.SIGTTOU)
	defer signal.Reset(syscall.SIGTTIN, syscall.SIGTTOU)
	p, err := start(&s)
	if err != nil {
		return Ending{}, err
	}
	defer unix.Close(p.messages)
	request(s.Watching)
	c := newCore(s, realtime.System{}, lines)
	c.peer = p
	c.loop(asked)
	ending := c.ending()
	ending.Code, ending.Worker = p.cmd.ProcessState.ExitCode(), p.cmd.ProcessState.String()
	return ending, c.failed
}

// loop works step by step until the worker is gone and all is safe.
func (c *core) loop(asked <-chan os.Signal) {
	for next := c.clock.Now(); ; {
		next = max(next+step, c.clock.Now())
		for c.clock.Now() < next {
			c.clock.SleepUntil(next)
		}
		select {
		case s := <-asked:
			c.ask(asking[s])
		default:
		}
		if c.step() {
			return
		}
	}
}

// process is a worker that is a process.
type process struct {
	cmd      *exec.Cmd
	messages int // what it says, read end
	commands int // what it is told, write end; -1 once there are no more
	ended    chan struct{}
}

// start starts the worker.
func start(s *Settings) (*process, error) {
	program, err := os.Executable()
	if err != nil {
		return nil, fmt.Errorf("interlock: %w", err)
	}
	var messages, commands [2]int // read end, write end
	if err := errors.Join(unix.Pipe2(messages[:], unix.O_CLOEXEC), unix.Pipe2(commands[:], unix.O_CLOEXEC)); err != nil {
		return nil, fmt.Errorf("interlock: %w", err)
	}
	says, commanded := os.NewFile(uintptr(messages[1]), "messages"), os.NewFile(uintptr(commands[0]), "commands")
	defer says.Close()
	defer commanded.Close()
	env := s.Env
	if env == nil {
		env = os.Environ()
	}
	input := s.Input
	if input == nil {
		input = os.Stdin
	}
	p := &process{messages: messages[0], commands: commands[1], ended: make(chan struct{})}
	p.cmd = &exec.Cmd{
		Path: program, Args: os.Args, Env: append(env[:len(env):len(env)], marker+"=1"),
		Stdin: input, Stdout: os.Stdout, Stderr: os.Stderr,
		ExtraFiles:  append([]*os.File{says, commanded}, s.Extra...),
		SysProcAttr: &syscall.SysProcAttr{Setpgid: true}, // no Pdeathsig: that comes once a thread of the supervisor's, and a second SIGTERM ends at once
	}
	err = errors.Join(unix.SetNonblock(p.messages, true), unix.SetNonblock(p.commands, true))
	if err == nil {
		err = p.cmd.Start()
	}
	if err != nil {
		p.endCommands()
		_ = unix.Close(p.messages)
		return nil, fmt.Errorf("interlock: the worker does not start: %w", err)
	}
	go func() {
		_ = p.cmd.Wait() // its state says how it ended
		close(p.ended)
	}()
	return p, nil
}

func (p *process) hear(dst []byte) (n int, ended bool) { return hear(p.messages, dst) }

func (p *process) tell(command []byte) { _, _ = unix.Write(p.commands, command) } // a worker that is gone is seen otherwise

func (p *process) endCommands() {
	if p.commands >= 0 {
		_ = unix.Close(p.commands)
		p.commands = -1
	}
}

func (p *process) kill() { _ = p.cmd.Process.Kill() } // where it is gone already there is nothing to kill

func (p *process) gone() bool {
	select {
	case <-p.ended:
		return true
	default:
		return false
	}
}

// request asks for a scheduling for the calling thread, which its goroutine has to
// itself. Without it the thread does its work later under load. What it starts does
// not inherit the priority.
func request(s realtime.Scheduling) {
	_ = realtime.Scheduling{CPU: s.CPU}.Ask() // hilrig ready says what the system does not grant
	if s.Priority > 0 {
		const resetOnFork = 1 // SCHED_FLAG_RESET_ON_FORK
		attr := unix.SchedAttr{Size: unix.SizeofSchedAttr, Policy: unix.SCHED_FIFO, Priority: uint32(s.Priority), Flags: resetOnFork}
		_ = unix.SchedSetAttr(0, &attr, 0)
	}
}
