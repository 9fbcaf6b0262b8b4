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

// trial is one change with its answer.
type trial struct {
	sent   signal.Time // when the change took effect on its wire
	took   float64     // s, to the end of the first frame that answers; +Inf: none did
	before float64     // s, to the beginning of the frame before that
	after  float64     // s, to its beginning
}

// respondingMotors lists the motors that a shift moves in the step, all four where the
// policy names none.
func (e *Evidence) respondingMotors(s *Step) []plant.Wheel {
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

// trials finds for each change when it took effect and when it was answered, and
// how many it leaves out: those in which the rig played its own wires late, or the
// sampler may have missed the frame that answered.
func (e *Evidence) trials(s *Step, motors []plant.Wheel) (trials []trial, left int) {
	var usual [4]signal.Time
	for _, w := range motors {
		usual[w] = e.spacing(w)
	}
	for i := range s.Changes {
		until := s.To
		if i+1 < len(s.Changes) {
			until = s.Changes[i+1]
		}
		sent, uncertainty, ok := e.onTheWire(s, i, until)
		if !ok {
			continue
		}
		t := trial{sent: sent, took: math.Inf(1)}
		unseen, answered := signal.Time(math.MaxInt64), until // the earliest frame that may have answered unseen
		for _, w := range motors {
			last, first, ok := e.leaves(w, sent, until)
			if !ok {
				continue
			}
			if e.unseenBetween(&last, &first, usual[w]) {
				unseen = min(unseen, last.End)
			}
			if took := (first.End - sent).Seconds(); took < t.took {
				answered = first.End
				t.took, t.before, t.after = took, (last.Start - sent).Seconds(), (first.Start - sent).Seconds()
			}
		}
		if e.Late(s.Changes[i], answered, uncertainty) || unseen < answered {
			left++
			continue
		}
		trials = append(trials, t)
	}
	return trials, left
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

// leaves returns the first frame after sent, and before until, with which a motor leaves
// where it stood at sent for two frames or longer, and the one before that.
func (e *Evidence) leaves(w plant.Wheel, sent, until signal.Time) (last, first trace.Frame, ok bool) {
	stood := e.lastFrames(w, sent)
	if len(stood) == 0 {
		return last, first, false
	}
	before := measure.Describe(valuesOf(stood)).Mean
	t, away, side := e.deadShift(), 0, 0.0
	last = stood[len(stood)-1]
	after := e.Trace.Motor[w].Between(sent+1, until)
	for i := range after {
		d := after[i].Value - before
		switch {
		case math.Abs(d) <= t:
			away = 0
			continue
		case away > 0 && d*side < 0:
			away = 0
		}
		side = d
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

// lastFrames returns the few frames of a motor that ended last before t.
func (e *Evidence) lastFrames(w plant.Wheel, t signal.Time) []trace.Frame {
	return e.Trace.Motor[w].Before(t+1, beforeFrames)
}

// movesUnprompted returns a motor that moves by itself before most changes.
func (e *Evidence) movesUnprompted(motors []plant.Wheel, trials []trial) (plant.Wheel, bool) {
	for _, w := range motors {
		moved := 0
		for _, t := range trials {
			if rangeOf(e.lastFrames(w, t.sent)).Width() > 2*e.deadShift() {
				moved++
			}
		}
		if 2*moved > len(trials) {
			return w, true
		}
	}
	return 0, false
}

// unevenPhases says in what way the trials met the board's or the sensor's frames at
// some phases more than at others, "" where they did not.
func (e *Evidence) unevenPhases(s *Step, motors []plant.Wheel, trials []trial) string {
	for _, w := range motors {
		var phases []float64
		frames := e.Trace.Motor[w].Between(e.since(s), e.until(s))
		for _, t := range trials {
			i := firstFrom(frames, t.sent)
			if i > 0 && i < len(frames) && frames[i].Start > frames[i-1].Start {
				phases = append(phases, float64(t.sent-frames[i-1].Start)/float64(frames[i].Start-frames[i-1].Start))
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
	phases := make([]float64, len(trials))
	for i, t := range trials {
		phases[i] = float64((t.sent-e.Trace.Start)%period) / float64(period)
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
