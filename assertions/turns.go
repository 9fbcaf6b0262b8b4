package assertions

import (
	"cmp"
	"math"
	"slices"

	"hilrig/assertions/measure"
	"hilrig/plant"
	"hilrig/rig/trace"
)

// MeasureTurns finds the mean period of the loop from the answers to all changes of one step of trials or of
// several in the order of time, by the motor that tells it most exactly; ok is false where it does not show in them.
// Behind a low-pass or a dead band one way takes some turns more than the other. Where both together tell nothing, each is
// looked at by itself, and what is found has to agree.
func MeasureTurns(steps ...*ResponseFound) (best LoopFound, ok bool) {
	if all := turnsOfWay(either, steps); len(all) > 0 {
		return slices.MinFunc(all, narrower), true
	}
	all := slices.Concat(turnsOfWay(0, steps), turnsOfWay(1, steps))
	if len(all) == 0 {
		return best, false
	}
	best = slices.MinFunc(all, narrower)
	apart := slices.ContainsFunc(all, func(u LoopFound) bool {
		return u.Within.Low > best.Within.High || u.Within.High < best.Within.Low
	})
	return best, !apart
}

func narrower(a, b LoopFound) int { return cmp.Compare(a.Within.Width(), b.Within.Width()) }

// turnsOfWay returns what the answers to changes of one way tell of the loop, of each motor that tells it.
func turnsOfWay(way int, steps []*ResponseFound) (all []LoopFound) {
	for _, w := range plant.Wheels {
		var answers []*MotorResponse
		for _, found := range steps {
			for i := range found.Motors {
				if m := &found.Motors[i]; m.Motor == w {
					answers = append(answers, m.oneWay(way))
				}
			}
		}
		if u, ok := measureTurns(answers...); ok {
			all = append(all, u)
		}
	}
	return all
}

// either is the way of changes to the first level, 0, and to the second, 1, together.
const either = 2

// oneWay returns the motor with its answers to changes of one way alone.
func (m *MotorResponse) oneWay(way int) *MotorResponse {
	if way == either {
		return m
	}
	one := &MotorResponse{Motor: m.Motor}
	for i, x := range m.ways {
		if x == way {
			one.sent, one.ways = append(one.sent, m.sent[i]), append(one.ways, x)
			one.before, one.after = append(one.before, m.before[i]), append(one.after, m.after[i])
		}
	}
	return one
}

// measureTurns finds the mean period of the loop from a motor's answers one after the other, of
// one step of trials or of several in the order of time; ok is false where it does not show in them.
func measureTurns(steps ...*MotorResponse) (found LoopFound, ok bool) {
	var before, after []float64
	var waits []measure.Wait
	for _, m := range steps {
		before, after = append(before, m.before...), append(after, m.after...)
		for i, sent := range m.sent {
			waits = append(waits, measure.Wait{At: sent, Before: m.before[i], After: m.after[i]})
		}
		found.Motor = m.Motor
	}
	parts, ok := measure.SeparateResponse(before, after)
	if !ok {
		return found, false
	}
	found.Updates, ok = measure.PeriodOfWaits(waits, parts)
	// A period that the spread of the waits rules out is none of the loop.
	likely := likelyLoop(&parts)
	return found, ok && found.Period >= likely.Low && found.Period <= likely.High
}

// AnyPeriod is where a loop's period lies of which nothing is known, s.
var AnyPeriod = measure.Interval{Low: 0, High: math.Inf(1)}

// LikelyPeriod returns between which bounds the trials have the loop's period, s: over so much the wait for it is
// spread. Without trials of use it is AnyPeriod.
func (r *ResponseFound) LikelyPeriod() measure.Interval {
	best := AnyPeriod
	for i := range r.Motors {
		p, ok := r.Motors[i].Parts()
		if !ok {
			continue
		}
		bounds := likelyLoop(&p)
		if bounds.Width() < best.Width() {
			best = bounds
		}
	}
	return best
}

// likelyLoop returns between which bounds parts of the waits have the loop's period, s: the parts' own hold 95 %, these have to
// hold nearly always.
func likelyLoop(p *measure.Parts) measure.Interval {
	more := float64(0.5*p.LoopWithin.Width()) + float64(0.03*p.Loop)
	return measure.Interval{Low: max(p.LoopWithin.Low-more, 0), High: p.LoopWithin.High + more}
}

// eachFrame is what share of the time between two frames a change may wait for the loop at most, for each frame to come of
// a turn of its own. Where the turns come more seldom than the frames, some frame comes of the turn of the one before, and a
// change between the two waits for all of another; the check's own definition.
const eachFrame = 0.5

// longestPeriod returns a time, s, that the loop's period is no longer than; +Inf where the trials tell none. A change that
// comes just after a turn waits a period for the next, which is part of what it waits for the loop and for a frame together:
// where one clock gives both, the wait for the frame may stand for all of it. Where hardly any wait is left beside that for
// the frame, turns come as often as the frames at least.
func (r *ResponseFound) longestPeriod() float64 {
	longest := math.Inf(1)
	for i := range r.Motors {
		m := &r.Motors[i]
		p, ok := m.Parts()
		if !ok {
			continue
		}
		usual, mean := m.framesApart()
		loop := p.LoopWithin.High + float64(0.5*p.LoopWithin.Width())
		if longest = min(longest, usual+loop); loop < eachFrame*usual {
			longest = min(longest, mean)
		}
	}
	return longest
}

// framesApart returns the median and the mean time from the frame before an answer to the one that answers, s.
func (m *MotorResponse) framesApart() (usual, mean float64) {
	apart := make([]float64, len(m.after))
	for i := range apart {
		apart[i] = m.after[i] - m.before[i]
		mean += apart[i] / float64(len(apart))
	}
	return median(apart), mean
}

// told is what the answers to the trials of a case tell of the loop.
type told struct {
	found    LoopFound // by the channel whose answers come in the shortest turns; where ok
	ok       bool
	channels int              // how many channels' answers come in turns that can be told
	likely   measure.Interval // between which bounds the answers have its period, s
	longest  float64          // s: the loop's period is no longer, by how long answers wait for it and for a frame together
}

// byAnswers returns the loop as the answers to the trials of the case's steps tell it. What a board reads in some of its
// turns alone, as the speed where it counts marks over windows, or a receiver in a slower task, shows turns that come more
// seldom than the loop's: of several channels that with the shortest turns is nearest to them.
func (e *Evidence) byAnswers() (t told) {
	t.likely, t.longest = AnyPeriod, math.Inf(1)
	by := map[trace.Channel][]*ResponseFound{}
	var channels []trace.Channel
	left := 0
	for i := range e.Steps {
		s := &e.Steps[i]
		if len(s.Changes) == 0 {
			continue
		}
		if r, why := MeasureResponse(e, s); why == "" {
			if by[s.Changed] == nil {
				channels = append(channels, s.Changed)
			}
			by[s.Changed], left = append(by[s.Changed], &r), max(left, r.LeftOut)
			t.longest = min(t.longest, r.longestPeriod())
			if one := r.LikelyPeriod(); one.Width() < t.likely.Width() {
				t.likely = one
			}
		}
	}
	for _, c := range channels {
		found, ok := MeasureTurns(by[c]...)
		if !ok {
			continue
		}
		t.channels++
		if !t.ok || found.Period < t.found.Period {
			t.found, t.ok = found, true
		}
	}
	t.found.LeftOut = left
	return t
}
