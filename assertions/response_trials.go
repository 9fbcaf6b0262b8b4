package assertions

import (
	"fmt"
	"math"
	"slices"

	"hilrig/assertions/law"
	"hilrig/assertions/measure"
	"hilrig/plant"
	"hilrig/rig/signal"
	"hilrig/rig/trace"
)

// change is one change of a step of trials as it came to its wire.
type change struct {
	asked       signal.Time // when it was asked for
	sent        signal.Time // when it took effect on its wire
	uncertainty signal.Time // of sent
	until       signal.Time // when the next was asked for
	waited      signal.Time // from the one before to this one; 0 of the first
	way         int         // the level that it leaves
}

// policyMotors lists the motors that a shift moves in the step, all four where the
// policy names none.
func (e *Evidence) policyMotors(s *Step) []plant.Wheel {
	var motors []plant.Wheel
	for _, split := range []*law.Split{e.policy().Understeer, e.policy().Oversteer} {
		for _, m := range moving(split) {
			if w, ok := m.corner.Wheel(s.Turn(e.policy())); ok && !slices.Contains(motors, w) {
				motors = append(motors, w)
			}
		}
	}
	if len(motors) == 0 || s.Changed == trace.Throttle {
		return plant.Wheels[:]
	}
	return motors
}

// sentOf are the lists of what was sent of those channels that do not go over encoder edges.
var sentOf = map[trace.Channel]trace.SentTo{
	trace.Steer: trace.SentSteer, trace.Throttle: trace.SentThrottle, trace.Gain: trace.SentGain, trace.YawRate: trace.SentYawRate,
}

// changes returns those changes of a step of trials that came to their wire.
func (e *Evidence) changes(s *Step) []change {
	all := make([]change, 0, len(s.Changes))
	for i, asked := range s.Changes {
		until := s.To
		if i+1 < len(s.Changes) {
			until = s.Changes[i+1]
		}
		c := change{asked: asked, until: until, way: i % 2}
		var ok bool
		if c.sent, c.uncertainty, ok = e.onTheWire(s, i, until); !ok {
			continue
		}
		if i > 0 {
			c.waited = asked - s.Changes[i-1]
		}
		all = append(all, c)
	}
	return all
}

// onTheWire returns when change i took effect on its wire: the end of the first
// pulse or frame that is nearer to the new level than to the old one; for what
// goes over encoder edges, the beginning of the tick in which the edges change.
func (e *Evidence) onTheWire(s *Step, i int, until signal.Time) (at, uncertainty signal.Time, ok bool) {
	change := s.Changes[i]
	list, ok := sentOf[s.Changed]
	if !ok {
		if e.Trace.Tick <= 0 {
			return change, 0, true
		}
		ticks := (change - e.Trace.Start + e.Trace.Tick - 1) / e.Trace.Tick
		return e.Trace.Start + ticks*e.Trace.Tick, 0, true
	}
	from, to := s.Levels[i%2], s.Levels[(i+1)%2]
	for _, x := range e.Trace.SentBetween(list, change, until) {
		if x.End >= until {
			break
		}
		if math.Abs(x.Value-to) < math.Abs(x.Value-from) {
			return x.End, x.EndUncertainty, true
		}
	}
	return 0, 0, false
}

// answered times one motor's answers to the changes, and leaves those out in which the rig
// played its own wires late, or the sampler may have missed the frame that answered.
func (e *Evidence) answered(w plant.Wheel, all []change, m *moves) (r MotorResponse) {
	r = MotorResponse{Motor: w, early: m.early()}
	usual, longest := e.spacing(w), -1.0
	// Where a motor stands and what a frame says are both known to half a step alone.
	nearer, farther := max(m.beyond-e.CommandStep, m.beyond/2), m.beyond+e.CommandStep
	for i := range all {
		c := &all[i]
		took, seen := math.Inf(1), c.until
		last, first, ok := e.leaves(w, c, m, m.beyond)
		if ok {
			took, seen = (first.End - c.sent).Seconds(), first.End
		}
		if e.Late(c.asked, seen, c.uncertainty) || ok && e.unseenBetween(&last, &first, usual) {
			r.LeftOut++
			continue
		}
		r.Times = append(r.Times, took)
		r.sooner, r.later = append(r.sooner, e.took(w, c, m, nearer)), append(r.later, e.took(w, c, m, farther))
		if took > longest {
			longest, r.slowest = took, c.sent
		}
		if ok {
			r.sent, r.ways = append(r.sent, c.sent.Seconds()), append(r.ways, c.way)
			r.before, r.after = append(r.before, (last.Start-c.sent).Seconds()), append(r.after, (first.Start-c.sent).Seconds())
			r.lengths = append(r.lengths, (first.End - first.Start).Seconds())
		}
	}
	return r
}

// took returns how long a motor takes to go farther than beyond, s; +Inf where it does not.
func (e *Evidence) took(w plant.Wheel, c *change, m *moves, beyond float64) float64 {
	if _, first, ok := e.leaves(w, c, m, beyond); ok {
		return (first.End - c.sent).Seconds()
	}
	return math.Inf(1)
}

// leaves returns the first frame between a change and the next with which a motor has gone
// farther than beyond from where it stood towards where the change takes it, and stays for two
// frames or longer, and the frame before that.
func (e *Evidence) leaves(w plant.Wheel, c *change, m *moves, beyond float64) (last, first trace.Frame, ok bool) {
	stood := e.lastFrames(w, c.sent, beforeFrames)
	if len(stood) == 0 {
		return last, first, false
	}
	base, side := measure.Describe(valuesOf(stood)).Mean, m.side(c.way)
	last = stood[len(stood)-1]
	after := e.Trace.Motor[w].Between(c.sent+1, c.until)
	away := 0
	for i := range after {
		if side*(after[i].Value-base) <= beyond {
			away = 0
			continue
		}
		if away++; away == leaveFrames {
			k := i - leaveFrames + 1
			if k > 0 {
				last = after[k-1]
			}
			return last, after[k], true
		}
	}
	return last, first, false
}

// lastFrames returns the n frames of a motor that ended last before t, fewer where there
// are no more.
func (e *Evidence) lastFrames(w plant.Wheel, t signal.Time, n int) []trace.Frame {
	return e.Trace.Motor[w].Before(t+1, n)
}

// unevenPhases says in what way the changes met the board's or the sensor's frames at
// some phases more than at others, "" where they did not.
func (e *Evidence) unevenPhases(s *Step, motors []plant.Wheel, all []change) string {
	for _, w := range motors {
		var phases []float64
		frames := e.Trace.Motor[w].Between(e.since(s), e.until(s))
		for i := range all {
			sent := all[i].sent
			k := firstFrom(frames, sent)
			if k > 0 && k < len(frames) && frames[k].Start > frames[k-1].Start {
				phases = append(phases, float64(sent-frames[k-1].Start)/float64(frames[k].Start-frames[k-1].Start))
			}
		}
		if _, p := measure.Kuiper(phases); p < uneven {
			return fmt.Sprintf("the changes met %s at some phases of its frames more than at others, so that they say nothing about the others; spread the trials' moments over more time", line(w))
		}
	}
	list, ok := sentOf[s.Changed]
	if !ok {
		return ""
	}
	period := medianSpacing(e.Trace.SentBetween(list, e.since(s), e.until(s)), func(x *trace.Sent) signal.Time { return x.Start })
	if period <= 0 {
		return ""
	}
	phases := make([]float64, len(all))
	for i := range all {
		phases[i] = float64((all[i].sent-e.Trace.Start)%period) / float64(period)
	}
	if _, p := measure.Kuiper(phases); p < uneven {
		return fmt.Sprintf("the frames that carried %s stood at some phases of %s more than at others; a board whose period hangs together with theirs is met at one phase only: move their grid between trials", s.Changed, period.Short())
	}
	return ""
}

// medianSpacing returns the median time between the beginnings of what follows on each other;
// 0 with fewer than two.
func medianSpacing[T any](all []T, start func(x *T) signal.Time) signal.Time {
	if len(all) < 2 {
		return 0
	}
	apart := make([]signal.Time, len(all)-1)
	for i := range apart {
		apart[i] = start(&all[i+1]) - start(&all[i])
	}
	slices.Sort(apart)
	return apart[len(apart)/2]
}
