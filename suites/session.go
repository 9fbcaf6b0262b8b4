package suites

import (
	"cmp"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"hash"
	"slices"

	"hilrig/assertions"
	"hilrig/assertions/law"
	"hilrig/plant/portable"
	"hilrig/rig"
	"hilrig/rig/board"
	"hilrig/rig/process"
	"hilrig/rig/signal"
	"hilrig/rig/trace"
	"hilrig/stimulus"
	"hilrig/suites/file"
	"hilrig/suites/record"
	"hilrig/suites/report"
	"hilrig/suites/standard"
)

// settleSpread is how far the settling before a case is stretched, evenly drawn, so
// that cases meet board and sensors at every phase.
const settleSpread = 50 * signal.Millisecond

// session is one suite on its bench, powered up.
type session struct {
	setup           *Setup
	suite           *file.Suite
	rig             *rig.Rig
	bench           rig.Bench
	between         stimulus.Values // what is played between cases
	noBoard         *session        // a bench whose board only passes the throttle on; nil until a case asks for it
	needsPowerCycle bool            // before the next case
	spare           []*trace.Trace
	used            int
	judged          *assertions.Evidence // of the case that was judged last; holds until the next is played
	watch           *report.Wires        // takes the wires of the next program, then is let go; nil where nobody watches
}

// open makes a bench with a board on it, powered up and settled. Where it fails
// it still returns a session that can be closed. The bench shows all its edges to tap, where
// that is not nil; one in real time shows them as [rig.Settings] says of Seen.
func (s *Setup) open(ctx context.Context, suite *file.Suite, maker boardMaker, tap func(driven, captured []signal.Edge)) (*session, error) {
	ses := &session{setup: s, suite: suite, between: s.between()}
	settings := rig.Settings{Wiring: s.wiring, Car: s.Car.Car, Seed: s.seed(suite.Name, "rig")}
	var b board.Board
	var err error
	if s.real == nil || s.real.Board {
		if b, err = maker(s, suite.Name); err != nil {
			return ses, err
		}
	}
	if s.real != nil {
		ses.bench, err = s.real.Open(s.wiring.Layout(), b)
		settings.Seen = tap
	} else {
		if settings.Repliers, err = s.wiring.Repliers(settings.Seed); err != nil {
			return ses, err
		}
		ses.bench, err = s.simulated(suite, b, settings.Repliers, tap)
	}
	if err != nil {
		return ses, err
	}
	if _, other := b.(*process.Board); other && s.real == nil {
		settings.Ahead = s.ahead
	}
	if ses.rig, err = rig.New(ses.bench, settings); err != nil {
		return ses, err
	}
	return ses, ses.powerUp(ctx)
}

// powerUp waits until the board is ready, at rest, and arms it.
func (ses *session) powerUp(ctx context.Context) error {
	life := &ses.setup.Bench.Board
	if err := ses.rig.Settle(ctx, ses.between, life.ReadyAfter, 0); err != nil {
		return err
	}
	for _, a := range life.Arm {
		if err := ses.rig.Settle(ctx, a.Values, a.For, 0); err != nil {
			return err
		}
	}
	return nil
}

// restart power-cycles the board and waits until it is ready.
func (ses *session) restart(ctx context.Context) error {
	if err := ses.rig.Restart(); err != nil {
		return err
	}
	return ses.powerUp(ctx)
}

func (ses *session) close() {
	if ses.noBoard != nil {
		ses.noBoard.close()
	}
	if ses.bench != nil {
		ses.idle()
		ses.bench.Close()
	}
}

// farewell is how long a bench in real time goes on at rest before it is closed, so that
// the board commands idle before its motors lose their supply.
const farewell = 100 * signal.Millisecond

// idle rests on a bench in real time. Where that is not possible any more the bench is
// closed as it is.
func (ses *session) idle() {
	if ses.setup.real != nil && ses.rig != nil {
		_ = ses.rig.Settle(context.Background(), ses.between, farewell, 0)
	}
}

// driven is how long the session has played, its second bench included.
func (ses *session) driven() signal.Time {
	var t signal.Time
	if ses.rig != nil {
		t = ses.rig.Now()
	}
	if ses.noBoard != nil {
		t += ses.noBoard.driven()
	}
	return t
}

// decodedUntil is the time up to which all that came back was decoded: that of the last two ticks is still
// under way.
func (ses *session) decodedUntil() signal.Time {
	return ses.rig.Now() - 2*cmp.Or(ses.setup.wiring.Tick, signal.Millisecond)
}

// runCase plays one case, as often and on as many boards as it asks for, and
// judges it into out.
func (ses *session) runCase(ctx context.Context, c *file.Case, fresh bool, out *record.Case) error {
	sum := sha256.New()
	late, together := 0, 0 // how often it was played again, for the rig was late and for answers ran together
	for try := 0; ; try++ {
		if fresh || ses.needsPowerCycle {
			if err := ses.restart(ctx); err != nil {
				return err
			}
		}
		e, err := ses.attempt(ctx, c, try, sum)
		if err != nil {
			return err
		}
		ses.judged = e
		out.StartNS, out.LengthNS = int64(e.Trace.Start), int64(e.Trace.Rows())*int64(e.Trace.Tick)
		ses.needsPowerCycle = ses.setup.needsPowerCycle(c)
		again := false
		err = ses.meanwhile(ctx, func() {
			out.Again, out.Checks = try, out.Checks[:0]
			switch ranTogether := judge(ses.suite, c, e, out); {
			case ranTogether && together < mostApart:
				together, again = together+1, true
				c = fartherApart(c)
			case late < mostAgain && invalidated(e, out):
				late, again = late+1, true
			}
		})
		if !again || err != nil {
			out.Trace = hex.EncodeToString(sum.Sum(nil))
			return err
		}
	}
}

// attempt plays one case as often as it asks to be repeated. Try counts from 0 how
// often that was done before.
func (ses *session) attempt(ctx context.Context, c *file.Case, try int, sum hash.Hash) (*assertions.Evidence, error) {
	ses.used = 0
	repeats := max(1, c.Repeat)
	all := make([]*assertions.Evidence, repeats)
	for i := range all {
		var err error
		if all[i], err = ses.trial(ctx, c, try*repeats+i, sum); err != nil {
			return nil, err
		}
	}
	all[0].Repeats = all[1:]
	return all[0], nil
}

// needsPowerCycle says whether the board is power-cycled after a case: the policy lets it stay safe after what the case
// did to its wires, or does not say what it takes to drive again, and then only where the bench can do it.
func (s *Setup) needsPowerCycle(c *file.Case) bool {
	return s.staysSafe(c) || (s.real == nil || s.real.Restarts) && slices.ContainsFunc(c.Steps, func(step file.Step) bool {
		return assertions.MayStaySafe(&s.Car.Policy, step.Faults)
	})
}

// staysSafe says whether by the policy the board stays safe after a case until a power cycle.
func (s *Setup) staysSafe(c *file.Case) bool {
	return slices.ContainsFunc(c.Steps, func(step file.Step) bool {
		return assertions.Recovery(&s.Car.Policy, step.Faults) == law.RecoversAtPowerCycle
	})
}

// trial plays a case once: with the shift, and where it compares, without it and
// without a board.
func (ses *session) trial(ctx context.Context, c *file.Case, repeat int, sum hash.Hash) (*assertions.Evidence, error) {
	draw := ses.setup.noise(ses.suite.Name, title(c), "trials", repeat)
	e, err := ses.execute(ctx, c, draw, ses.trace(), sum)
	if err != nil || !c.Compare {
		return e, err
	}
	off := withoutGain(c)
	if e.Off, err = ses.execute(ctx, off, draw, ses.trace(), sum); err != nil {
		return nil, err
	}
	resting := ses.meanwhile(ctx, func() {
		if ses.noBoard == nil {
			if ses.noBoard, err = ses.setup.virtual().open(ctx, ses.suite, nullBoard(board.EqualTorque), nil); err != nil {
				return
			}
		}
		e.NoBoard, err = ses.noBoard.execute(ctx, off, draw, ses.trace(), sum)
	})
	return e, errors.Join(err, resting)
}

// withoutGain returns a copy of the case with the gain trim at zero throughout.
func withoutGain(c *file.Case) *file.Case {
	off := *c
	off.Steps = slices.Clone(c.Steps)
	for i := range off.Steps {
		s := &off.Steps[i]
		s.Values.Gain = 0
		s.Shapes = slices.DeleteFunc(slices.Clone(s.Shapes), func(m file.Moving) bool { return m.Channel == trace.Gain })
	}
	return &off
}

// trace returns a trace that no other trial of the case uses.
func (ses *session) trace() *trace.Trace {
	if ses.used == len(ses.spare) {
		ses.spare = append(ses.spare, new(trace.Trace))
	}
	ses.used++
	return ses.spare[ses.used-1]
}

// execute settles, plays a case's program into tr and returns what there is to judge
// it by, which holds until tr is used again.
func (ses *session) execute(ctx context.Context, c *file.Case, draw portable.Noise, tr *trace.Trace, sum hash.Hash) (*assertions.Evidence, error) {
	var program *stimulus.Program
	var steps []assertions.Step
	err := ses.meanwhile(ctx, func() {
		program, steps = programOf(c, ses.between, draw, ses.setup.Bench.Grid(), ses.setup.demanded())
		for i := range steps {
			steps[i].OnRequest = ses.setup.Bench.OnRequest(steps[i].Changed)
		}
		tr.Folding(folding(c, steps, sum != nil && ses.setup.long(c)))
		ses.rig.MakeRoom(tr, program)
	})
	if err != nil {
		return nil, err
	}
	if c.PowerUp {
		err = ses.powerCycle(ctx, program)
	} else {
		err = ses.rig.Settle(ctx, ses.between, ses.setup.settleTime(), settleSpread)
	}
	watch := ses.watch
	if ses.watch = nil; watch != nil {
		watch.Begin(ses.rig.Now())
	}
	if err == nil {
		err = ses.rig.Play(ctx, program, tr)
	}
	if watch != nil && err == nil {
		watch.To = ses.rig.Now()
	}
	if err != nil {
		return nil, err
	}
	place(steps, tr.Start)
	if sum != nil {
		if err := ses.meanwhile(ctx, func() { tr.Hash(sum) }); err != nil {
			return nil, err
		}
	}
	e := ses.evidence(steps)
	e.Trace = tr
	if program.Closed {
		e.Release = tr.Start + program.Release
	}
	return e, nil
}

func (ses *session) evidence(steps []assertions.Step) *assertions.Evidence {
	e := &assertions.Evidence{Policy: &ses.setup.Car.Policy, Steps: steps, Car: &ses.setup.Car.Car}
	e.Curve, e.NoCurve = ses.setup.judgedBy()
	e.Given = standard.Is(ses.suite.Source.Path, ses.suite.Source.Data)
	for _, m := range ses.setup.wiring.Motors {
		e.CommandStep = max(e.CommandStep, m.CommandStep())
		e.Lowest = min(e.Lowest, m.Lowest())
	}
	e.Apart, e.ThrottleStep = ses.setup.Bench.Apart(), ses.setup.wiring.Bus.Throttle.Finest()
	return e
}
