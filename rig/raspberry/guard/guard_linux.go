package guard

import (
	"errors"
	"fmt"
	"os"
	"os/exec"
	"os/signal"
	"runtime"
	"runtime/debug"
	"syscall"

	"golang.org/x/sys/unix"

	"hilrig/rig"
	"hilrig/rig/raspberry"
	clock "hilrig/rig/signal"
)

// Times of a guard. Heartbeat: an edge each step, which makes 500 Hz.
const (
	step       = clock.Millisecond
	lastWords  = 50 * clock.Millisecond // for a stalled worker that may be about to say why it dies
	mostSafe   = clock.Second           // for a worker that was told to make its lines safe
	mostEnding = 30 * clock.Second      // for one whose lines are safe to write its record
)

// Settings say what a guard stands before.
type Settings struct {
	Parts
	Power     rig.Power
	Tested    rig.InterlockParts // since the machine was started
	Rotation  bool               // each motor was seen to turn the right way since then
	Trial     bool               // what the worker plays is to show just that
	Confirmed bool               // a person has confirmed the list of the power level
	Rank      int                // SCHED_FIFO priority of the guard, 1 to 99, where the system grants it; 0: as any program
	Env       []string           // of the worker; nil: the guard's own
	Input     *os.File           // what the worker reads as its standard input; nil: the guard's own
}

// Ending is how it ended.
type Ending struct {
	Tripped bool
	Why     string // where it tripped
	Code    int    // the worker's exit code; -1 where it was killed
	Worker  string // how the worker ended: "exit status 1", "signal: killed"
}

// Run starts this program once more, with the same arguments, as the worker, and
// stands before the motors until it has ended: relay open, heartbeat stopped, lines at
// their safe levels. The error says why nothing was started, or which line is not as it should be.
//
// The worker is in a process group of its own, so that Ctrl-C reaches the guard alone.
// Meanwhile the guard takes SIGINT, SIGTERM and SIGHUP for itself.
func Run(s Settings) (Ending, error) {
	runtime.LockOSThread() // the rank is a thread's
	defer runtime.UnlockOSThread()
	defer debug.SetGCPercent(debug.SetGCPercent(-1)) // nothing here makes garbage worth a pause
	g := &guard{Settings: s, gone: make(chan error, 1), asked: make(chan os.Signal, 8)}
	g.lock = rig.NewInterlock(rig.InterlockSettings{Power: s.Power, Wired: s.Pins.Wired(), Tested: s.Tested, Rotation: s.Rotation, Trial: s.Trial})
	if s.Confirmed {
		g.lock.Confirm()
	}
	if err := g.openLines(); err != nil {
		return Ending{}, err
	}
	defer g.lines.Close()
	defer g.openRelay(g.lines) // a panic of the guard's own included
	signal.Notify(g.asked, syscall.SIGINT, syscall.SIGTERM, syscall.SIGHUP)
	signal.Notify(make(chan os.Signal, 1), syscall.SIGPIPE) // whoever read our output may be gone
	defer signal.Reset(syscall.SIGINT, syscall.SIGTERM, syscall.SIGHUP)
	if err := g.start(); err != nil {
		return Ending{}, err
	}
	takeRank(g.Rank)
	err := g.loop()
	why, _ := g.lock.Trip()
	how := g.worker.ProcessState
	return Ending{Tripped: g.lock.State() == rig.Tripped, Why: why, Code: how.ExitCode(), Worker: how.String()}, err
}

// guard is one guard at work.
type guard struct {
	Settings
	lock   *rig.Interlock
	lines  raspberry.Lines
	worker *exec.Cmd
	words  int      // what the worker says, read end
	orders *os.File // what it is told, write end; nil once it was told to end
	gone   chan error
	asked  chan os.Signal

	now     clock.Time
	relay   bool       // closed, as written
	beat    bool       // level of the heartbeat, as written
	bye     bool       // the worker ends by itself
	heard   clock.Time // when the newest word was said
	idled   bool       // the worker was told to idle
	went    bool       // it has been live
	spoke   bool       // it has said something since it was told to end
	killAt  clock.Time // the worker is killed then; 0: not
	buffer  [256 * wordSize]byte
	partial int
	failed  error // a line is not as it should be
}

// openLines opens the guard's own lines, all of them safe.
func (g *guard) openLines() error {
	var err error
	if g.lines, err = g.Open(); err != nil {
		return err
	}
	err = g.openRelay(g.lines)
	if pin := g.Pins.Stop; pin != 0 && err == nil {
		if err = g.lines.Input(pin, raspberry.PullDown); err == nil {
			var closed bool
			if closed, err = g.lines.Read(pin); err == nil && !closed {
				err = errors.New("the stop contact is open; close it, or see to its wire")
			}
		}
	}
	if err != nil {
		g.lines.Close()
		return fmt.Errorf("interlock: %w", err)
	}
	return nil
}

// start starts the worker.
func (g *guard) start() error {
	program, err := os.Executable()
	if err != nil {
		return fmt.Errorf("interlock: %w", err)
	}
	words, wordsIn, err := os.Pipe()
	if err != nil {
		return fmt.Errorf("interlock: %w", err)
	}
	defer wordsIn.Close()
	ordersOut, orders, err := os.Pipe()
	if err != nil {
		return fmt.Errorf("interlock: %w", err)
	}
	defer ordersOut.Close()
	env := g.Env
	if env == nil {
		env = os.Environ()
	}
	input := g.Input
	if input == nil {
		input = os.Stdin
	}
	g.worker = &exec.Cmd{
		Path: program, Args: os.Args, Env: append(env[:len(env):len(env)], marker+"=1"),
		Stdin: input, Stdout: os.Stdout, Stderr: os.Stderr,
		ExtraFiles:  []*os.File{wordsIn, ordersOut},
		SysProcAttr: &syscall.SysProcAttr{Setpgid: true}, // no Pdeathsig: that comes once a thread of the guard's, and a second SIGTERM ends at once
	}
	if err := g.worker.Start(); err != nil {
		return fmt.Errorf("interlock: the worker does not start: %w", err)
	}
	g.orders, g.words = orders, int(words.Fd())
	go func() {
		g.gone <- g.worker.Wait()
		runtime.KeepAlive(words)
	}()
	return unix.SetNonblock(g.words, true)
}

// takeRank asks for a real-time rank for the calling thread, which its goroutine has to
// itself. Without it the thread does its work later under load. What it starts does
// not inherit it.
func takeRank(rank int) {
	if rank > 0 {
		const resetOnFork = 1 // SCHED_FLAG_RESET_ON_FORK
		attr := unix.SchedAttr{Size: unix.SizeofSchedAttr, Policy: unix.SCHED_FIFO, Priority: uint32(rank), Flags: resetOnFork}
		_ = unix.SchedSetAttr(0, &attr, 0) // hilrig ready says what the system does not grant
	}
}

// loop works step by step until the worker is gone and all is safe.
func (g *guard) loop() error {
	for next := monotonic(); ; {
		next += step
		if g.now = monotonic(); next < g.now-step {
			next = g.now
		}
		ts := unix.NsecToTimespec(int64(next))
		for errors.Is(unix.ClockNanosleep(unix.CLOCK_MONOTONIC, unix.TIMER_ABSTIME, &ts, nil), unix.EINTR) {
		}
		g.now = monotonic()
		select {
		case <-g.gone:
			return g.finish()
		default:
		}
		g.look()
		g.lock.Pass(g.now)
		g.act()
		g.order()
	}
}

// look takes in what happened since the last step.
func (g *guard) look() {
	g.read()
	if pin := g.Pins.Stop; pin != 0 {
		closed, err := g.lines.Read(pin)
		switch {
		case err != nil:
			g.lock.Failed(g.now, "the stop input cannot be read: "+err.Error())
		case !closed:
			g.lock.StopOpened(g.now)
		}
	}
	select {
	case s := <-g.asked:
		how := map[os.Signal]string{syscall.SIGINT: "Ctrl-C", syscall.SIGTERM: "asked to end", syscall.SIGHUP: "the terminal was closed"}[s]
		if _, idling := g.lock.Idling(); idling {
			g.lock.Failed(g.now, how) // a second time: at once
		}
		if g.lock.State() == rig.Tripped && g.killAt != 0 {
			g.killAt = g.now
		}
		g.lock.AskedToEnd(g.now, how)
	default:
	}
}

// act does what the interlock decides: the relay first.
func (g *guard) act() {
	closed, beats := g.lock.RelayClosed(), g.lock.HeartbeatAllowed()
	if !closed && g.relay {
		g.relay = false
		g.write("relay", g.Pins.Relay, false)
	}
	if g.Pins.Heartbeat != 0 && (beats || g.beat) {
		g.beat = beats && !g.beat
		g.write("heartbeat", g.Pins.Heartbeat, g.beat)
	}
	if closed && !g.relay {
		g.relay = true
		g.write("relay", g.Pins.Relay, true)
	}
}

// write writes a line of the guard's own.
func (g *guard) write(name string, pin int, level bool) {
	if err := g.lines.Write(pin, level); err != nil {
		g.failed = errors.Join(g.failed, fmt.Errorf("%s: %w", name, err))
		g.lock.Failed(g.now, name+": "+err.Error())
	}
}

// order tells the worker what it has to do, and kills one that does not.
func (g *guard) order() {
	why, _ := g.lock.Trip()
	if _, idling := g.lock.Idling(); idling && !g.idled {
		g.idled = true
		g.tell(orderIdle, why)
	}
	if g.lock.State() == rig.Tripped && g.orders != nil {
		g.killAt = g.now + mostSafe
		if g.now-g.heard > rig.MostSilence && g.heard != 0 {
			g.killAt = g.now + lastWords
		}
		g.tell(orderTripped, why)
		g.orders.Close()
		g.orders = nil
	}
	if g.killAt != 0 && g.now >= g.killAt {
		g.killAt = 0
		_ = g.worker.Process.Kill() // where it is gone already there is nothing to kill
	}
}

// tell sends an order.
func (g *guard) tell(kind orderKind, text string) {
	if g.orders != nil {
		_, _ = g.orders.Write(kind.put(text)) // a worker that is gone is seen otherwise
	}
}

// finish makes all safe once the worker is gone: its last words first, the relay
// before the lines.
func (g *guard) finish() error {
	g.read()
	if !g.bye || !g.lock.LinesSafe() {
		g.lock.WorkerGone(g.now)
	}
	g.act()
	if g.orders != nil {
		g.orders.Close()
	}
	failed := errors.Join(g.failed, g.openRelay(g.lines))
	if g.went || g.lock.State() == rig.Tripped {
		failed = errors.Join(failed, g.makeSafe(g.lines))
	}
	return failed
}
