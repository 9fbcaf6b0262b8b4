package suites

import (
	"cmp"
	"math"
	"slices"

	"hilrig/assertions"
	"hilrig/assertions/measure"
	"hilrig/plant"
	"hilrig/rig/signal"
	"hilrig/rig/trace"
)

// trials are the answers to a step of trials.
type trials struct {
	e             *assertions.Evidence
	channel       trace.Channel
	movers        []mover
	times         []float64 // s, of each trial; +Inf: no answer
	before, after []float64 // s, of each answer: from the change to the beginning of the frame before it, and of its own
	length        []float64 // s, of each answering frame
	uneven        bool      // the changes met the frames at some phases more than at others
}

// mover is a motor that the changes move, with where it stands at each level.
type mover struct {
	wheel plant.Wheel
	level [2]float64
}

// trialsOf times the answers: from the end of the frame or pulse that carried a
// change to the end of the first frame of any motor that has left where it stood
// before by the dead shift, and does not come back with the next.
func trialsOf(e *assertions.Evidence) *trials {
	s := &e.Steps[0]
	t := &trials{e: e, channel: s.Changed}
	sent := carriers(e.Trace.Sent[sentList(s.Changed)], s)
	dead := e.Policy.DeadShiftFor(e.CommandStep)
	t.movers = moversOf(e.Trace, sent, dead)
	if len(t.movers) == 0 || len(sent) == 0 {
		return t
	}
	var phases []float64
	for i := range len(sent) - 1 {
		t.answer(sent[i], sent[i+1], i%2, dead)
		if x, ok := phase(e.Trace.Motor[t.movers[0].wheel].Frames, sent[i]); ok {
			phases = append(phases, x)
		}
	}
	_, even := measure.Kuiper(phases)
	t.uneven = even < 1e-4
	return t
}

// sentList returns the list of what was sent of a channel.
func sentList(c trace.Channel) trace.SentTo {
	if c == trace.Throttle {
		return trace.SentThrottle
	}
	return trace.SentYawRate
}

// carriers returns when each change of a step took effect on its wire: the end
// of the first that is nearer to the new level.
func carriers(list []trace.Sent, s *assertions.Step) []signal.Time {
	var at []signal.Time
	k := 0
	for i, change := range s.Changes {
		from, to := s.Levels[i%2], s.Levels[(i+1)%2]
		for k < len(list) && (list[k].Start < change || math.Abs(list[k].Value-to) >= math.Abs(list[k].Value-from)) {
			k++
		}
		if k == len(list) {
			break
		}
		at = append(at, list[k].End)
	}
	return at
}

// moversOf returns the motors that the changes move by some dead shifts: where
// each stood last before a change, by the median.
func moversOf(tr *trace.Trace, sent []signal.Time, dead float64) []mover {
	var movers []mover
	for _, w := range plant.Wheels {
		var last [2][]float64
		for i, at := range sent {
			if k := begun(tr.Motor[w].Frames, at); k > 0 {
				last[i%2] = append(last[i%2], tr.Motor[w].Frames[k-1].Value)
			}
		}
		m := mover{wheel: w}
		for k := range last {
			slices.Sort(last[k])
			m.level[k] = measure.Quantile(last[k], 0.5)
		}
		if math.Abs(m.level[1]-m.level[0]) > 3*dead {
			movers = append(movers, m)
		}
	}
	return movers
}

// begun returns how many frames had begun before t.
func begun(frames []trace.Frame, t signal.Time) int {
	k, _ := slices.BinarySearchFunc(frames, t, func(f trace.Frame, t signal.Time) int { return cmp.Compare(f.Start, t) })
	return k
}

// phase returns how far t stands in from one frame's beginning to the next.
func phase(frames []trace.Frame, t signal.Time) (float64, bool) {
	k := begun(frames, t)
	if k == 0 || k == len(frames) {
		return 0, false
	}
	return float64(t-frames[k-1].Start) / float64(frames[k].Start-frames[k-1].Start), true
}

// answer times the answer to a change that took effect at sent, before the next did.
func (t *trials) answer(sent, next signal.Time, level int, dead float64) {
	took, before, after, length := math.Inf(1), 0.0, 0.0, 0.0
	for _, m := range t.movers {
		frames := t.e.Trace.Motor[m.wheel].Frames
		away := func(i int) bool { return math.Abs(frames[i].Value-m.level[level]) > dead }
		for i := begun(frames, sent); i < len(frames) && frames[i].End < next; i++ {
			if i == 0 || !away(i) || i+1 < len(frames) && frames[i+1].End < next && !away(i+1) {
				continue
			}
			if x := (frames[i].End - sent).Seconds(); x < took {
				took, before, after = x, (frames[i-1].Start - sent).Seconds(), (frames[i].Start - sent).Seconds()
				length = (frames[i].End - frames[i].Start).Seconds()
			}
			break
		}
	}
	t.times = append(t.times, took)
	if !math.IsInf(took, 1) {
		t.before, t.after, t.length = append(t.before, before), append(t.after, after), append(t.length, length)
	}
}

// parts takes the median response apart: what passes in any case before a frame
// can carry the change, the wait for the loop, the wait for a frame with its
// length.
func (t *trials) parts(r *Rate, median float64) []Part {
	p, ok := measure.SeparateResponse(t.before, t.after)
	if !ok {
		return nil
	}
	loop := p.Loop / 2
	note := "wait for the loop's next turn, by the trials"
	if r.Loop.Why == "" {
		loop, note = 1/(2*r.Loop.Rate), "wait for the loop's next turn, half its period"
	}
	delay := max(p.Delay, 0)
	slices.Sort(t.length)
	length := measure.Quantile(t.length, 0.5)
	return []Part{
		{"input", delay, "passes in any case: receiving, computing, handing on"},
		{"loop", loop, note},
		{"output", max(median-delay-loop, length), "wait for the next frame, and its length of " + micro(length)},
	}
}
