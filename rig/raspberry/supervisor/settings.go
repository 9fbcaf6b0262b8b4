package supervisor

import (
	"os"

	"hilrig/rig/interlock"
	"hilrig/rig/raspberry/realtime"
	"hilrig/rig/signal"
)

// Times of a supervisor. Heartbeat: an edge each step, which makes 500 Hz.
const (
	step       = signal.Millisecond
	aliveEvery = 4 * signal.Millisecond
	lastReport = 50 * signal.Millisecond // for a stalled worker that may be about to say why it dies
	mostSafe   = signal.Second           // for a worker that was told to make its lines safe
	mostEnding = 30 * signal.Second      // for one whose lines are safe to write its record
)

// MostExtra is how many files a worker inherits at most.
const MostExtra = 3

// extra is the worker's descriptor of the first of them, behind its ends of the pipes.
const extra = 5

// Inherited returns the n-th file of [Settings.Extra], in a program that a supervisor started
// with one. It is called once for each that is needed; the others stay open until the
// program ends.
func Inherited(n int) *os.File { return os.NewFile(uintptr(extra+n), "inherited from the supervisor") }

// Settings say what a supervisor stands before.
type Settings struct {
	Parts
	Power     interlock.Power
	Supply    interlock.Supply    // of the motors, where [Pins] has an input that sees it
	Tested    interlock.Parts     // since the machine was started
	Rotation  bool                // each motor was seen to turn the right way since then
	Trial     bool                // what the worker plays is to show just that
	Untested  bool                // the worker tries machine, wires and board, no motor being connected: see [interlock.Settings]
	Proof     bool                // and relay and heartbeat, with somebody there
	Confirmed bool                // a person has confirmed the list of the power level
	Watching  realtime.Scheduling // of the supervisor, where the system grants it
	Env       []string            // of the worker; nil: the supervisor's own
	Found     string              // what [Parts.Tidy] found; the worker is told
	Input     *os.File            // what the worker reads as its standard input; nil: the supervisor's own
	Extra     []*os.File          // what else the worker inherits, [MostExtra] at most; see [Inherited]
}

// Ending is how it ended.
type Ending struct {
	Tripped  bool
	Why      string      // where it tripped
	Stood    signal.Time // the longest time beyond 20 ms for which the supervisor itself stood still; 0: it never did
	Welded   bool        // the motors' supply stayed, the relay open and the motors at rest
	Unjudged bool        // nobody waited until the supply was seen to go
	Fell     signal.Time // the longest time that the supply took to go; 0: it was not seen to
	Code     int         // the worker's exit code; -1 where it was killed
	Worker   string      // how the worker ended: "exit status 1", "signal: killed"
}
