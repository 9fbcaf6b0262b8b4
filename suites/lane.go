package suites

import (
	"cmp"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"hash"

	"hilrig/assertions"
	"hilrig/plant/portable"
	"hilrig/rig"
	"hilrig/rig/board"
	"hilrig/rig/signal"
	"hilrig/rig/trace"
	"hilrig/stimulus"
	"hilrig/suites/file"
	"hilrig/suites/record"
	"hilrig/suites/report"
)

// restSpread is how far the rest before a case is stretched, evenly drawn, so
// that cases meet board and sensors at every phase.
const restSpread = 50 * signal.Millisecond

// lane is one suite on its bench, powered up.
type lane struct {
	setup   *Setup
	suite   *file.Suite
	rig     *rig.Rig
	bench   rig.Bench
	rest    stimulus.Values
	noBoard *lane // a bench whose board only passes the throttle on; nil until a case asks for it
	tired   bool  // the board needs a power cycle before the next case
	spare   []*trace.Trace
	used    int
	watch   *report.Wires // takes the wires of the next play, then is let go; nil: nobody watches
}

// open makes a bench with a board on it, powered up and at rest. Where it fails
// it still returns a lane that can be closed.
func (s *Setup) open(ctx context.Context, suite *file.Suite, maker boardMaker) (*lane, error) {
	return s.openTapped(ctx, suite, maker, nil)
}

// openTapped is open with a bench that shows all its edges to tap. One in real time
// shows them as [rig.Settings] says of Seen.
func (s *Setup) openTapped(ctx context.Context, suite *file.Suite, maker boardMaker, tap func(driven, captured []signal.Edge)) (*lane, error) {
	l := &lane{setup: s, suite: suite}
	between := &s.Bench.Board.BetweenCases
	l.rest = stimulus.Values{Throttle: between.Throttle, Steer: between.Steer, YawRate: between.YawRate}
	settings := rig.Settings{Wiring: s.wiring, Car: s.Car.Car, Seed: s.seed(suite.Name, "rig")}
	var b board.Board
	var err error
	if s.real == nil || s.real.Board {
		if b, err = maker(s, s.seed(suite.Name, "board")); err != nil {
			return l, err
		}
	}
	if s.real != nil {
		l.bench, err = s.real.Open(s.wiring.Layout(), b)
		settings.Seen = tap
	} else {
		if settings.Repliers, err = s.wiring.Repliers(settings.Seed); err != nil {
			return l, err
		}
		l.bench, err = s.simulated(suite, b, settings.Repliers, tap)
	}
	if err != nil {
		return l, err
	}
	if l.rig, err = rig.New(l.bench, settings); err != nil {
		return l, err
	}
	return l, l.powerUp(ctx)
}

// powerUp waits until the board is ready, at rest, and arms it.
func (l *lane) powerUp(ctx context.Context) error {
	life := &l.setup.Bench.Board
	if err := l.rig.Rest(ctx, l.rest, life.ReadyAfter, 0); err != nil {
		return err
	}
	for _, a := range life.Arm {
		v := stimulus.Values{Throttle: a.Throttle, Steer: a.Steer, Gain: a.Gain}
		if err := l.rig.Rest(ctx, v, a.For, 0); err != nil {
			return err
		}
	}
	return nil
}

// restart power-cycles the board and waits until it is ready.
func (l *lane) restart(ctx context.Context) error {
	if err := l.rig.Restart(); err != nil {
		return err
	}
	return l.powerUp(ctx)
}

func (l *lane) close() {
	if l.noBoard != nil {
		l.noBoard.close()
	}
	if l.bench != nil {
		l.idle()
		l.bench.Close()
	}
}

// farewell is how long a bench in real time goes on at rest before it is closed, so that
// the board commands idle before its motors lose their supply.
const farewell = 100 * signal.Millisecond

// idle rests on a bench in real time. Where that is not possible any more the bench is
// closed as it is.
func (l *lane) idle() {
	if l.setup.real != nil && l.rig != nil {
		_ = l.rig.Rest(context.Background(), l.rest, farewell, 0)
	}
}

// driven is how long the lane has played, its second bench included.
func (l *lane) driven() signal.Time {
	var t signal.Time
	if l.rig != nil {
		t = l.rig.Now()
	}
	if l.noBoard != nil {
		t += l.noBoard.driven()
	}
	return t
}

// taken is up to when all that came back was taken: that of the last two ticks is still
// under way.
func (l *lane) taken() signal.Time {
	return l.rig.Now() - 2*cmp.Or(l.setup.wiring.Tick, signal.Millisecond)
}

// play plays one case, as often and on as many boards as it asks for, and
// judges it into out.
func (l *lane) play(ctx context.Context, c *file.Case, fresh bool, out *record.Case) error {
	sum := sha256.New()
	for try := 0; ; try++ {
		if fresh || l.tired {
			if err := l.restart(ctx); err != nil {
				return err
			}
		}
		e, err := l.plays(ctx, c, try, sum)
		if err != nil {
			return err
		}
		out.StartNS, out.LengthNS = int64(e.Trace.Start), int64(e.Trace.Rows())*int64(e.Trace.Tick)
		l.tired = l.setup.needsPowerCycle(c)
		again := false
		err = l.meanwhile(ctx, func() {
			out.Again, out.Checks = try, out.Checks[:0]
			judge(l.suite, c, e, out)
			again = try < mostAgain && invalidated(e, out)
		})
		if !again || err != nil {
			out.Trace = hex.EncodeToString(sum.Sum(nil))
			return err
		}
	}
}

// plays plays one case as often as it asks to be repeated. Try counts from 0 how
// often that was done before.
func (l *lane) plays(ctx context.Context, c *file.Case, try int, sum hash.Hash) (*assertions.Evidence, error) {
	l.used = 0
	repeats := max(1, c.Repeat)
	e, err := l.once(ctx, c, try*repeats, sum)
	if err != nil {
		return nil, err
	}
	for i := 1; i < repeats; i++ {
		again, err := l.once(ctx, c, try*repeats+i, sum)
		if err != nil {
			return nil, err
		}
		e.Repeats = append(e.Repeats, again)
	}
	return e, nil
}

// needsPowerCycle says whether the policy lets the board stay safe after what
// the case did to its wires.
func (s *Setup) needsPowerCycle(c *file.Case) bool {
	if s.Car.Policy.Recovers != assertions.RecoversAtPowerCycle {
		return false
	}
	for i := range c.Steps {
		if len(c.Steps[i].Faults) > 0 {
			return true
		}
	}
	return false
}

// once plays a case once: with the shift, and where it compares, without it and
// without a board.
func (l *lane) once(ctx context.Context, c *file.Case, repeat int, sum hash.Hash) (*assertions.Evidence, error) {
	draw := l.setup.noise(l.suite.Name, title(c), "trials", repeat)
	e, err := l.drive(ctx, c, draw, l.trace(), sum)
	if err != nil || !c.Compare {
		return e, err
	}
	off := withoutGain(c)
	if e.Off, err = l.drive(ctx, off, draw, l.trace(), sum); err != nil {
		return nil, err
	}
	resting := l.meanwhile(ctx, func() {
		if l.noBoard == nil {
			if l.noBoard, err = l.setup.virtual().open(ctx, l.suite, nullBoard(board.EqualTorque)); err != nil {
				return
			}
		}
		e.NoBoard, err = l.noBoard.drive(ctx, off, draw, l.trace(), sum)
	})
	return e, errors.Join(err, resting)
}

// withoutGain returns a copy of the case with the gain trim at zero throughout.
func withoutGain(c *file.Case) *file.Case {
	off := *c
	off.Steps = append([]file.Step(nil), c.Steps...)
	for i := range off.Steps {
		off.Steps[i].Values.Gain = 0
		var kept []file.Moving
		for _, m := range off.Steps[i].Shapes {
			if m.Channel != trace.Gain {
				kept = append(kept, m)
			}
		}
		off.Steps[i].Shapes = kept
	}
	return &off
}

// trace returns a trace that no other play of the case uses.
func (l *lane) trace() *trace.Trace {
	if l.used == len(l.spare) {
		l.spare = append(l.spare, new(trace.Trace))
	}
	l.used++
	return l.spare[l.used-1]
}

// drive rests, plays a case's program into tr and returns what there is to judge
// it by, which holds until tr is used again.
func (l *lane) drive(ctx context.Context, c *file.Case, draw portable.Noise, tr *trace.Trace, sum hash.Hash) (*assertions.Evidence, error) {
	var program *stimulus.Program
	var steps []assertions.Step
	err := l.meanwhile(ctx, func() {
		program, steps = programOf(c, l.rest, draw, l.setup.Bench.Grid())
		tr.Folding(folding(c, steps, sum != nil && l.setup.long(c)))
		l.rig.MakeRoom(tr, program)
	})
	if err != nil {
		return nil, err
	}
	if c.PowerUp {
		err = l.wake(ctx, program)
	} else {
		err = l.rig.Rest(ctx, l.rest, l.setup.rest(), restSpread)
	}
	watch := l.watch
	if l.watch = nil; watch != nil {
		watch.Begin(l.rig.Now())
	}
	if err == nil {
		err = l.rig.Play(ctx, program, tr)
	}
	if watch != nil && err == nil {
		watch.To = l.rig.Now()
	}
	if err != nil {
		return nil, err
	}
	place(steps, tr.Start)
	if sum != nil {
		if err := l.meanwhile(ctx, func() { tr.Hash(sum) }); err != nil {
			return nil, err
		}
	}
	e := l.evidence(steps)
	e.Trace = tr
	if program.Closed {
		e.Release = tr.Start + program.Release
	}
	return e, nil
}

func (l *lane) evidence(steps []assertions.Step) *assertions.Evidence {
	e := &assertions.Evidence{Policy: &l.setup.Car.Policy, Steps: steps}
	for _, m := range l.setup.wiring.Motors {
		e.CommandStep = max(e.CommandStep, m.CommandStep())
		e.Lowest = min(e.Lowest, m.Lowest())
	}
	return e
}
