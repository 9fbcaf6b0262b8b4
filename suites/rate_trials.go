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
	played        int       // changes that came to their wire
	left          int       // trials that were left out, for the rig was late or may have missed the answer
	times         []float64 // s, of each other trial; +Inf: no answer
	before, after []float64 // s, of each answer: from the change to the beginning of the frame before it, and of its own
	length        []float64 // s, of each answering frame
	uneven        bool      // the changes met the frames at some phases more than at others
}

// mover is a motor that the changes move, with where it stands at each level.
type mover struct {
	wheel  plant.Wheel
	level  [2]float64
	unseen func(frame int) bool // whether the sampler may have missed one just before
}

// trialsOf times the answers: from the end of the frame or pulse that carried a
// change to the end of the first frame of any motor that has left where it stood
// before by the dead shift, and does not come back with the next.
func trialsOf(e *assertions.Evidence) *trials {
	s := &e.Steps[0]
	t := &trials{e: e, channel: s.Changed}
	sent := carriers(e.Trace.Sent[sentList(s.Changed)], s)
	dead := e.Policy.DeadShiftFor(e.CommandStep)
	t.movers, t.played = moversOf(e, sent, dead), len(sent)
	if len(t.movers) == 0 || len(sent) == 0 {
		for i := range len(sent) - 1 {
			if e.Late(s.Changes[i], sent[i+1].End, sent[i].EndUncertainty) {
				t.left++
			}
		}
		return t
	}
	var phases []float64
	for i := range len(sent) - 1 {
		if !t.answer(s.Changes[i], sent[i], sent[i+1].End, i%2, dead) {
			t.left++
			continue
		}
		if x, ok := phase(e.Trace.Motor[t.movers[0].wheel].Frames, sent[i].End); ok {
			phases = append(phases, x)
		}
	}
	_, even := measure.Kuiper(phases)
	t.uneven = even < 1e-4
	return t
}

// mostlyLate says whether the rig was late in more trials than not, so that motors that
// do not move tell nothing of the board.
func (t *trials) mostlyLate() bool { return 2*t.left > t.played }

// sentList returns the list of what was sent of a channel.
func sentList(c trace.Channel) trace.SentTo {
	if c == trace.Throttle {
		return trace.SentThrottle
	}
	return trace.SentYawRate
}

// carriers returns what took each change of a step to its wire, and at its end let it
// take effect: the first that is nearer to the new level.
func carriers(list []trace.Sent, s *assertions.Step) []trace.Sent {
	var at []trace.Sent
	k := 0
	for i, change := range s.Changes {
		from, to := s.Levels[i%2], s.Levels[(i+1)%2]
		for k < len(list) && (list[k].Start < change || math.Abs(list[k].Value-to) >= math.Abs(list[k].Value-from)) {
			k++
		}
		if k == len(list) {
			break
		}
		at = append(at, list[k])
	}
	return at
}

// moversOf returns the motors that the changes move by some dead shifts: where
// each stood last before a change, by the median.
func moversOf(e *assertions.Evidence, sent []trace.Sent, dead float64) []mover {
	tr := e.Trace
	var movers []mover
	for _, w := range plant.Wheels {
		var last [2][]float64
		for i, at := range sent {
			if k := begun(tr.Motor[w].Frames, at.End); k > 0 {
				last[i%2] = append(last[i%2], tr.Motor[w].Frames[k-1].Value)
			}
		}
		m := mover{wheel: w, unseen: e.Unseen(w)}
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

// answer times the answer to a change that what was sent took to its wire, before the
// next took effect. It is false for one that is of no use: the rig was late, or may have
// missed the frame that answered.
func (t *trials) answer(change signal.Time, by trace.Sent, next signal.Time, level int, dead float64) bool {
	took, before, after, length := math.Inf(1), 0.0, 0.0, 0.0
	sent, answered, missed := by.End, next, signal.Time(math.MaxInt64)
	for _, m := range t.movers {
		frames := t.e.Trace.Motor[m.wheel].Frames
		i := m.leaves(frames, sent, next, level, dead)
		if i < 0 {
			continue
		}
		if m.unseen(i) {
			missed = min(missed, frames[i-1].End)
		}
		if x := (frames[i].End - sent).Seconds(); x < took {
			answered = frames[i].End
			took, before, after = x, (frames[i-1].Start - sent).Seconds(), (frames[i].Start - sent).Seconds()
			length = (frames[i].End - frames[i].Start).Seconds()
		}
	}
	if missed < answered || t.e.Late(change, answered, by.EndUncertainty) {
		return false
	}
	t.times = append(t.times, took)
	if !math.IsInf(took, 1) {
		t.before, t.after, t.length = append(t.before, before), append(t.after, after), append(t.length, length)
	}
	return true
}

// leaves returns the number of the first frame in [sent, next) with which the motor has
// left where it stands at that level and does not come back with the next, -1: none.
func (m *mover) leaves(frames []trace.Frame, sent, next signal.Time, level int, dead float64) int {
	away := func(i int) bool { return math.Abs(frames[i].Value-m.level[level]) > dead }
	for i := begun(frames, sent); i < len(frames) && frames[i].End < next; i++ {
		if i > 0 && away(i) && (i+1 == len(frames) || frames[i+1].End >= next || away(i+1)) {
			return i
		}
	}
	return -1
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
	slices.Sort(t.length)
	length := measure.Quantile(t.length, 0.5)
	return []Part{
		{"input", p.Delay, "passes in any case: receiving, computing, handing on"},
		{"loop", loop, note},
		{"output", max(median-p.Delay-loop, length), "wait for the next frame, and its length of " + micro(length)},
	}
}
