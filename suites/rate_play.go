package suites

import (
	"context"
	"fmt"
	"math"

	"hilrig/assertions"
	"hilrig/plant/portable"
	"hilrig/rig/signal"
	"hilrig/rig/trace"
	"hilrig/stimulus"
	"hilrig/suites/file"
)

const (
	loopObserve = 2200 * signal.Millisecond // of an excitation: enough of a board of 100 Hz
	rateTick    = signal.Millisecond / 4    // fine, so that its steps are none of a fast loop's
	rateSettle  = 200 * signal.Millisecond
	ratedTrials = 204 // changes, on a perfect bench; the last has nothing behind it that would end it
	fewestRated = 200
)

// The steps that are played, and what each is for.
const (
	ofLoop    = "loop"
	ofRest    = "rest"
	ofAnswers = "response"
)

var rateWords = map[string]string{ofLoop: "how often inputs are read", ofRest: "when answers end", ofAnswers: "how soon motors answer"}

// rateRun plays what loop rate and response are measured by.
type rateRun struct {
	session *session
	draw    portable.Noise
	driver  bool               // trials change the throttle, and not the yaw rate
	plays   int                // how many were begun
	say     func(words string) // nil: nobody is told
	// How far apart the last trials were, and what was drawn on top.
	apart, over signal.Time
}

// rateValues are held while nothing else is said: a turn to the left in which
// the shift is wide open.
func rateValues() stimulus.Values {
	return stimulus.Values{Speed: 4, Steer: 0.14, Throttle: 0.4, Gain: 1}
}

// excite plays a speed that goes up and down all the time, with the yaw rate held.
func (p *rateRun) excite(ctx context.Context, observe signal.Time) (*assertions.Evidence, error) {
	v := rateValues()
	v.Speed, v.YawRate = 3, 0.09
	v.Steer = wholePulse(&p.session.setup.wiring.Steer, v.Steer)
	sine := stimulus.Sine{Amplitude: 2, About: v.Speed, Frequency: 4.77}
	return p.play(ctx, &file.Step{
		Name: ofLoop, Settle: rateSettle, Observe: observe, Values: v,
		Shapes: []file.Moving{{Channel: trace.Speed, Shape: sine}},
	}, nil)
}

// trials plays changes to and fro of the yaw rate, or of the throttle, at least
// so far apart on their wire; what is added is drawn from 0 to spread.
//
// The frames of the sensor move with the changes, so that the wait for a frame
// is the same for all and takes no time from the answer.
func (p *rateRun) trials(ctx context.Context, apart, spread signal.Time) (*trials, error) {
	return p.aimed(ctx, apart, spread, nil)
}

// aimed is trials with each change moved later to where it tells most of the loop; a may be nil.
func (p *rateRun) aimed(ctx context.Context, apart, spread signal.Time, a *aim) (*trials, error) {
	v, channel, levels := p.changed()
	p.apart, p.over = apart, spread
	apart = wholeFrames(apart, p.session.setup.sentEvery(channel))
	e, err := p.play(ctx, &file.Step{Name: ofAnswers, Settle: rateSettle, Values: v}, func(b *programmer, out *assertions.Step) {
		out.Changed, out.Levels, out.Demand = channel, levels, p.session.setup.demand(v.Speed, v.Steer)
		out.OnRequest = p.session.setup.Bench.OnRequest(channel)
		track, at := b.track(channel), out.From
		wait := signal.Time(0)
		if out.Aimed = a != nil; out.Aimed {
			wait = a.wait(at + apart)
		}
		for i := range p.count() {
			by := b.drawn(spread)
			if a != nil {
				by += a.later(b, at+apart+by, wait)
			}
			b.program.Moves = append(b.program.Moves, stimulus.GridMove{At: at + apart/2, By: by})
			at += apart + by
			track.Hold(at, levels[(i+1)%2])
			out.Changes = append(out.Changes, at)
		}
		out.To = at + apart
	})
	if err != nil {
		return nil, err
	}
	return trialsOf(e), nil
}

// How far apart the few changes stand that show when an answer has ended: first the one, and
// where that is not enough, the other.
var restWaits = [...]signal.Time{signal.Second / 2, 5 * signal.Second / 2}

// restChanges is how many of them there are.
const restChanges = 6

// answersEnd plays a few changes that stand far apart, and finds how long after one the
// answers to it have ended; 0 where no motor moves.
func (p *rateRun) answersEnd(ctx context.Context) (after signal.Time, err error) {
	v, channel, levels := p.changed()
	for _, wait := range restWaits {
		e, err := p.play(ctx, &file.Step{Name: ofRest, Settle: rateSettle, Values: v}, func(b *programmer, out *assertions.Step) {
			out.Changed, out.Levels, out.Demand = channel, levels, p.session.setup.demand(v.Speed, v.Steer)
			track, at := b.track(channel), out.From
			for i := range restChanges {
				track.Hold(at, levels[(i+1)%2])
				out.Changes = append(out.Changes, at)
				at += wait
			}
			out.To = at
		})
		if err != nil {
			return 0, err
		}
		found, moved, ended := assertions.AnswersEnd(e, &e.Steps[0])
		if after = found; !moved || ended {
			return after, nil
		}
	}
	return after, nil
}

// spread returns over how long the moments of changes are drawn, so that loop, frames and
// what carries the changes are met at every phase.
func (p *rateRun) spread(loop, output signal.Time) signal.Time {
	return max(file.TrialSpread(p.session.setup.Bench.Grid()), 2*loop, 2*output, 2*p.session.setup.sentEvery(p.channel()))
}

// channel returns what the trials change.
func (p *rateRun) channel() trace.Channel {
	_, c, _ := p.session.setup.rateChanges(p.driver)
	return c
}

// wholeFrames returns the least multiple of a frame's period that is not below apart;
// apart itself where the period is 0.
func wholeFrames(apart, period signal.Time) signal.Time {
	if period <= 0 {
		return apart
	}
	return (apart + period - 1) / period * period
}

// count returns how many changes are played: more where the bench may invalidate some.
func (p *rateRun) count() int {
	if p.session.setup.perfect() {
		return ratedTrials
	}
	return ratedTrials + int(spareTrials*ratedTrials)
}

// changed returns what is held in trials, what changes, and between which values.
func (p *rateRun) changed() (v stimulus.Values, c trace.Channel, levels [2]float64) {
	v, c, levels = p.session.setup.rateChanges(p.driver)
	p.driver = c == trace.Throttle
	return v, c, levels
}

// rateChanges returns what is held in trials, what changes, and between which values: the
// throttle where that is asked for, or no yaw rate can be changed.
func (s *Setup) rateChanges(throttle bool) (v stimulus.Values, c trace.Channel, levels [2]float64) {
	v = rateValues()
	demand := s.demand(v.Speed, v.Steer)
	v.YawRate = demand
	if throttle || math.Abs(demand) < 0.1 || s.sentEvery(trace.YawRate) == 0 {
		return v, trace.Throttle, [2]float64{v.Throttle, v.Throttle + 0.2}
	}
	return v, trace.YawRate, [2]float64{demand, demand / 2}
}

// sentEvery returns how often the yaw rate, or with any other channel the throttle, is
// sent: the time from one of its frames or pulses to the next. It is 0 where nothing
// carries it or it goes out on request alone.
func (s *Setup) sentEvery(c trace.Channel) signal.Time {
	w := &s.wiring
	switch {
	case c != trace.YawRate && w.Bus.Port != "":
		return w.Bus.Period
	case c != trace.YawRate:
		return w.Throttle.Frame
	}
	for i := range w.Frames {
		for _, f := range w.Frames[i].Carrying() {
			if f.Channel == trace.YawRate.String() {
				return w.Frames[i].Period
			}
		}
	}
	return 0
}

// play plays one step from where the last ended, with what more adds to it.
func (p *rateRun) play(ctx context.Context, s *file.Step, more func(b *programmer, out *assertions.Step)) (*assertions.Evidence, error) {
	ses := p.session
	b := &programmer{draw: p.draw, grid: ses.setup.Bench.Grid()}
	b.step(s, true, ses.between)
	out := &b.steps[0]
	if more != nil {
		more(b, out)
	}
	p.draw = b.draw
	b.program.Length = out.To + tail
	tr := ses.trace()
	p.plays++
	if p.say != nil {
		p.say(fmt.Sprintf("play %d: %s, %.0f s of driving", p.plays, rateWords[s.Name], b.program.Length.Seconds()))
	}
	if err := ses.rig.Play(ctx, &b.program, tr); err != nil {
		return nil, err
	}
	ses.between = rateValues() // what the next play begins from
	place(b.steps, tr.Start)
	e := ses.evidence(b.steps)
	e.Trace = tr
	return e, nil
}
