package supervisor

import (
	"context"

	"hilrig/rig/raspberry/realtime"
	"hilrig/rig/signal"
)

// Pair is a supervisor and its worker in one process, on a clock that is brought forward by
// hand: what they do and when is the same on every machine. Everything is done by the
// goroutine that lets time pass. The supervisor works every millisecond as under [Run].
//
//	clock := &realtime.Manual{}
//	pair := supervisor.NewPair(clock, supervisor.Settings{Power: interlock.WheelsOffGround, Tested: …, Rotation: true, Confirmed: true})
//	pair.Stall(supervisor.TheSupervisor, 100*signal.Millisecond, 30*signal.Millisecond)
//	ending := pair.Run(func(w *supervisor.Worker) int {
//		bench := w.Bench(…, nil) // a bench whose time is pair.Clock()
//		…
//		return 0
//	})
//
// Stalls and deaths are put where a test wants them, before Run or from a call that the
// clock makes (its At).
type Pair struct {
	clock         *realtime.Manual
	core          *core
	worker        *Worker
	ending        Ending
	over          bool      // the supervisor is done
	side          [2]*state // of supervisor and worker
	messages      []byte
	commands      []byte
	commandsEnded bool
	notes         []string
	died          func(side Side) // is told of a death; nil: nobody is
}

// Side is one of the two processes.
type Side uint8

// The sides.
const (
	TheSupervisor Side = iota
	TheWorker
)

// state is how a side's process is.
type state struct {
	stalls []stall
	dead   bool
	how    string // it ended
	code   int
}

type stall struct{ from, until signal.Time }

// runs says whether a process gets to do something at t, and from when on where it stands still.
func (s *state) runs(t signal.Time) (at signal.Time, yes bool) {
	for _, one := range s.stalls {
		if t >= one.from && t < one.until {
			return one.until, false
		}
	}
	return t, !s.dead
}

// NewPair returns a supervisor and a worker that have just been started, on the lines that the
// settings open.
func NewPair(clock *realtime.Manual, s Settings) (*Pair, error) {
	return newPair(clock, s, &s.Parts)
}

// newPair is [NewPair] with a worker that opens lines of its own.
func newPair(clock *realtime.Manual, s Settings, workers *Parts) (*Pair, error) {
	p := &Pair{clock: clock, side: [2]*state{{}, {}}}
	lines, err := openLines(&s.Parts, clock, s.Untested)
	if err != nil {
		return nil, err
	}
	p.core = newCore(s, clock, lines)
	p.core.peer = (*pairedPeer)(p)
	p.worker = newWorker(context.Background(), p.Clock(), (*pairedLink)(p))
	p.worker.Holds(workers)
	p.every(TheSupervisor, clock.Now()+step, func() {
		if p.over = p.core.step(); p.over {
			p.ending = p.core.ending()
		}
	})
	p.every(TheWorker, clock.Now()+listenEvery, p.worker.pass)
	return p, nil
}

// every has a side do something each millisecond while it lives.
func (p *Pair) every(side Side, at signal.Time, do func()) {
	p.clock.At(at, func() {
		switch next, runs := p.side[side].runs(p.clock.Now()); {
		case p.side[side].dead || side == TheSupervisor && p.over:
		case runs:
			do()
			p.every(side, p.clock.Now()+step, do)
		default:
			p.every(side, next, do)
		}
	})
}

// Clock returns the worker's clock: whoever sleeps on it stands still while the worker
// does, and sleeps for good where the worker dies.
func (p *Pair) Clock() realtime.Clock { return (*workerClock)(p) }

// Stall has a side stand still: SIGSTOP at from, SIGCONT after long.
func (p *Pair) Stall(side Side, from, long signal.Time) {
	s := p.side[side]
	s.stalls = append(s.stalls, stall{from, from + long})
}

// Kill has a side die at once, as by SIGKILL.
func (p *Pair) Kill(side Side) { p.die(side, "signal: killed", -1) }

func (p *Pair) die(side Side, how string, code int) {
	s := p.side[side]
	if s.dead {
		return
	}
	s.dead, s.how, s.code = true, how, code
	if p.died != nil {
		p.died(side)
	}
}

// Ask has the supervisor find in its next step that somebody wants it to end: how is "Ctrl-C".
func (p *Pair) Ask(how string) { p.core.ask(how) }

// Notes are what the worker had to tell a person.
func (p *Pair) Notes() []string { return p.notes }

// dies is what unwinds the goroutine of a worker that died.
type dies struct{}

// Run has the worker do its work, whose result is its exit code, and returns once both
// have ended. Where the supervisor was killed the ending is its zero value but for the
// worker's end.
func (p *Pair) Run(work func(w *Worker) int) Ending {
	func() {
		defer func() {
			if r := recover(); r != nil {
				if _, died := r.(dies); !died {
					panic(r)
				}
			}
		}()
		code := work(p.worker)
		p.worker.Exiting()
		p.die(TheWorker, exitStatus(code), code)
	}()
	for end := p.clock.Now() + 60*signal.Second; !p.over && !p.side[TheSupervisor].dead && p.clock.Now() < end; {
		p.clock.SleepUntil(p.clock.Now() + step)
	}
	p.ending.Code, p.ending.Worker = p.side[TheWorker].code, p.side[TheWorker].how
	return p.ending
}
