package suites

import (
	"context"
	"fmt"
	"math"

	"hilrig/assertions"
	"hilrig/assertions/measure"
	"hilrig/rig/signal"
	"hilrig/stimulus/wire"
)

// longObserve is how long an excitation is observed where a shorter one did not decide.
const longObserve = 3 * loopObserve

// likelyPeriod returns between which bounds the trials have the loop's period, s: over so
// much the wait for it is spread. Without trials of use it is assertions.AnyPeriod.
func (t *trials) likelyPeriod() measure.Interval {
	if t == nil {
		return assertions.AnyPeriod
	}
	return t.found.LikelyPeriod()
}

// settle holds the loop rate against the response: against the turns that the answers tell one
// after the other and, where they tell none, against how far they are spread. Where they do not go
// together, or nothing was decided, more answers are played, and it is looked for once more within
// what the response allows, and in a longer excitation if need be.
func (r *Rate) settle(ctx context.Context, p *rateRun, t *trials) error {
	if r.settleByTurns(t) {
		return nil
	}
	likely := t.likelyPeriod()
	if r.Loop.Rate == 0 || math.IsInf(likely.High, 1) || r.Loop.agrees(likely) && !r.Loop.slips {
		return nil
	}
	if r.Loop.locked && t.oneEachTurn(r.Loop.Period()) {
		r.Loop.Why, r.Loop.paced, r.Loop.EachTurn = "", true, true
		return nil
	}
	if settled, err := r.settleByMore(ctx, p, t); settled || err != nil || r.Loop.agrees(likely) {
		return err
	}
	s, before := p.session.setup, r.Loop
	r.loop.LoopPeriod = &likely
	if r.Loop = s.loopRateOf(r.loop); r.Loop.Why != "" {
		e, err := p.excite(ctx, longObserve)
		if err != nil {
			return err
		}
		e.LoopPeriod = &likely
		r.loop, r.Loop = e, s.loopRateOf(e)
	}
	if r.Loop.Rate == 0 {
		r.Loop = before
	}
	if r.Loop.Why == "" && !r.Loop.agrees(likely) {
		r.Loop.Why = fmt.Sprintf("the response says that the loop's period lies between %.3g and %.3g ms, which the commands do not bear out; make the motor's command step finer",
			likely.Low*1000, likely.High*1000)
	}
	r.respondAgain(t)
	return nil
}

// moreTrials is how many times as many answers are played for the turns alone where the first do
// not tell them, as where frames come more seldom than turns.
const moreTrials = 4

// settleByMore plays more changes, and takes the period from all answers where they tell it.
func (r *Rate) settleByMore(ctx context.Context, p *rateRun, t *trials) (bool, error) {
	if !t.tellWaits() || r.Loop.paced {
		return false, nil
	}
	all := []*trials{t}
	for range moreTrials {
		last := all[len(all)-1]
		more, err := p.aimed(ctx, p.apart, p.over, last.aim(p.session.setup.sentEvery(last.channel)))
		if err != nil {
			return false, err
		}
		if more.why != "" {
			return false, nil
		}
		all = append(all, more)
	}
	return r.settleByTurns(all...), nil
}

// tellWaits says whether answers show a wait for the loop at all, beside that for a frame.
func (t *trials) tellWaits() bool {
	if t.why != "" {
		return false
	}
	for i := range t.found.Motors {
		if p, ok := t.found.Motors[i].Parts(); ok && p.LoopWithin.Low > 0 {
			return true
		}
	}
	return false
}

// respondAgain sums the trials up with the loop rate that they settled.
func (r *Rate) respondAgain(t *trials) {
	apart := r.Response.Apart
	r.Response = r.setup.responseOf(t, r)
	r.Response.Apart = apart
}

// settleByTurns takes the period from the answers to the changes where they tell it, and the
// frames of the excitation do not, or another, or by far less exactly.
func (r *Rate) settleByTurns(all ...*trials) bool {
	t := all[0]
	if t == nil || r.Loop.paced || t.why != "" {
		return false
	}
	found, ok := turnsOf(all)
	if !ok || r.Loop.Why == "" && !r.Loop.slips && !r.Loop.beatenBy(found.Within) {
		return false
	}
	last := all[len(all)-1]
	found.LeftOut, found.Longest = r.Loop.LeftOut, r.Loop.Longest
	r.Loop = LoopRate{
		Rate: 1 / found.Period, Within: measure.Interval{Low: 1 / found.Within.High, High: 1 / found.Within.Low},
		Motor: found.Motor, Frames: found.Readings, Answers: true, LeftOut: found.LeftOut,
		From: t.e.Steps[0].From, To: last.e.Steps[0].To, Longest: found.Longest,
	}
	r.Loop.Budget = turnsBudget(last, &r.Loop, r.setup.span(found.Motor))
	r.loop.LoopFound = &found
	r.respondAgain(t)
	return true
}

// muchWider is how many times as wide as what the answers tell an interval of the frames is not
// kept.
const muchWider = 2

// beatenBy says whether another interval of the period, s, excludes the rate's or is far narrower.
func (l *LoopRate) beatenBy(within measure.Interval) bool {
	own := measure.Interval{Low: 1 / l.Within.High, High: 1 / l.Within.Low}
	return own.Low > within.High || own.High < within.Low || own.Width() > muchWider*within.Width()
}

// turnsOf finds the loop's period from the answers to all trials.
func turnsOf(all []*trials) (assertions.LoopFound, bool) {
	found := make([]*assertions.ResponseFound, len(all))
	for i, t := range all {
		found[i] = &t.found
	}
	return assertions.MeasureTurns(found...)
}

// oneEachTurn says whether frames that stand still against the loop, so far apart, are one for each
// turn of it, by the shortest response: what passes from a reading to the frame that carries
// it. A loop of half that period or less has read once more if it is over a half; and where it is next to
// nothing, the loop itself sends the frame as it ends, which a timer would do by a rare chance.
func (t *trials) oneEachTurn(frame float64) bool {
	for i := range t.found.Motors {
		if p, ok := t.found.Motors[i].Parts(); ok && p.LoopWithin.Low < 0.3*frame {
			return p.Delay > 0.55*frame || p.Delay < 0.03*frame
		}
	}
	return false
}

// agrees says whether a loop rate that was decided goes together with what the response says
// of the loop's period. Frames that are paced by the loop leave no wait for it.
func (l *LoopRate) agrees(likely measure.Interval) bool {
	if l.Why != "" {
		return false
	}
	if l.paced {
		return likely.Low < 0.3*l.Period()
	}
	return likely.Low <= l.Period() && l.Period() <= likely.High
}

// wholePulse returns the value next to one whose pulse is a whole number of microseconds wide:
// of any other, a board whose timer counts them reads now the one and now the other.
// Where pulses are not straight in the value, it is returned as it is.
func wholePulse(p *wire.Pulse, value float64) float64 {
	if p.Curve != nil || p.HighValue == p.LowValue {
		return value
	}
	perValue := float64(p.High-p.Low) / (p.HighValue - p.LowValue)
	const whole = float64(signal.Microsecond)
	width := float64(p.Low) + float64((value-p.LowValue)*perValue)
	return p.LowValue + (float64(math.Round(width/whole)*whole)-float64(p.Low))/perValue
}

// Stalled says whether the longest time from reading to reading is plainly longer than the
// period.
func (l *LoopRate) Stalled() bool { return l.Why == "" && l.Longest.Low > 1.3*l.Period() }
