package assertions

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"hilrig/plant"
	"hilrig/rig/signal"
	"hilrig/rig/trace"
)

const (
	// lateShare is how late the rig's own wires may be, as a share of the response that the
	// policy allows. What is later than that is no longer what the case asked for.
	lateShare = 0.01
	// lateOtherwise is how late they may be where the policy declares no response.
	lateOtherwise = 100 * signal.Microsecond
	// lateEffect is how long a motor may still move after something was played late.
	lateEffect = 50 * signal.Millisecond
	// missing is how many times their usual distance two frames stand apart when one between
	// them may have been missed.
	missing = 1.5
)

// Judge holds a check against the evidence and returns one result for each thing found,
// at least one. It changes nothing and is safe for concurrent use. Evidence without a trace
// is allowed: what cannot be read is then undecided or not asked.
//
// The rig may have played its own wires late. In a step whose stimulus is held, the commands
// that this may have moved are left out. Where too few commands remain, or where the
// stimulus moves, a result is undecided unless it rests only on what was played in time.
// Every result is undecided where the sampler could not read most commands of a motor.
func Judge(c Check, e *Evidence) []Result {
	e = e.screened()
	results := c.judge(e)
	for i := range results {
		results[i].LeftOut += e.leftOutIn(results[i].Step)
	}
	why, all := e.Invalidated()
	if why == "" {
		return results
	}
	for i := range results {
		if r := &results[i]; r.Verdict != NotAsked && (all || !r.screened) {
			*r = unmeasured(*r, why+"; play it on a machine that keeps time")
		}
	}
	return results
}

// Invalidated says how the rig's own timing invalidated a case; it is empty where the timing
// was good enough. all is true where even results that rest only on what was played in time
// are invalid.
func (e *Evidence) Invalidated() (why string, all bool) {
	if w, open, seen := e.unresolved(); open > 0 {
		return fmt.Sprintf("the sampler left open %d of %d commands of %s", open, open+seen, line(w)), true
	}
	for _, one := range e.runs() {
		for i := range one.Steps {
			if why := one.invalidatedIn(&one.Steps[i]); why != "" {
				return why, false
			}
		}
	}
	return "", false
}

// invalidatedIn says how the rig's own lateness invalidated a step, and is empty where it did
// not. A step whose stimulus is held is invalid where too few commands are left that the
// lateness cannot have moved. Any other step is invalid where the rig was later than
// [Evidence.lateBound].
func (e *Evidence) invalidatedIn(s *Step) string {
	d, late := e.lateIn(s.Applied, s.To)
	if !e.held(s) {
		if !late {
			return ""
		}
		return e.lateness(d)
	}
	w, kept, seen, few := e.tooFew(s)
	switch {
	case !few:
		return ""
	case late:
		return fmt.Sprintf("%s, which leaves %d of %d commands of %s", e.lateness(d), kept, seen, line(w))
	}
	return fmt.Sprintf("the rig played its own wires late, which distorted receiver pulses and leaves %d of %d commands of %s", kept, seen, line(w))
}

func (e *Evidence) lateness(d trace.Delay) string {
	return fmt.Sprintf("the rig played its own wires up to %s late at %v, more than %s", d.Worst.Short(), d.From, e.lateBound().Short())
}

// unresolved returns a motor for which the sampler left open more commands than it read in
// one run of the case, with both counts; open is 0 where there is no such motor.
func (e *Evidence) unresolved() (w plant.Wheel, open, seen int) {
	for _, one := range e.runs() {
		from, to := one.Steps[0].Applied, one.Steps[len(one.Steps)-1].To
		for _, w := range plant.Wheels {
			o := &one.Trace.Motor[w]
			if open := openBetween(o, from, to); open > 0 && open > o.Count(from, to) {
				return w, open, o.Count(from, to)
			}
		}
	}
	return 0, 0, 0
}

// lateBound is how late the rig's own wires may be.
func (e *Evidence) lateBound() signal.Time {
	if p := e.policy(); p.Response != nil && p.Response.AtMost > 0 {
		return signal.FromSeconds(lateShare * p.Response.AtMost.Seconds())
	}
	return lateOtherwise
}

// lateIn returns the worst stretch within [from, to] in which the rig was later
// than lateBound.
func (e *Evidence) lateIn(from, to signal.Time) (worst trace.Delay, late bool) {
	all := e.Trace.Delays
	first, _ := slices.BinarySearchFunc(all, from, func(d trace.Delay, t signal.Time) int { return cmp.Compare(d.To, t) })
	for _, d := range all[first:] {
		if d.From > to {
			break
		}
		if d.Worst > max(e.lateBound(), worst.Worst) {
			worst, late = d, true
		}
	}
	return worst, late
}

// Late says whether a change asked for at change, whose moment on its wire is uncertain by
// uncertainty, may have been answered at answered as it was because the rig was late:
// shortly before it or since then its own wires were later than checks bear.
func (e *Evidence) Late(change, answered, uncertainty signal.Time) bool {
	_, late := e.lateIn(change-lateEffect, answered)
	return late || uncertainty > e.lateBound()
}

// Unseen returns what says of each frame of motor w, by its number, whether the
// sampler may have missed one between it and the frame before.
func (e *Evidence) Unseen(w plant.Wheel) func(i int) bool {
	usual := e.spacing(w)
	frames := e.Trace.Motor[w].Frames
	return func(i int) bool {
		return i > 0 && i < len(frames) && e.unseenBetween(&frames[i-1], &frames[i], usual)
	}
}

// spacing returns the median time between the beginnings of a motor's frames.
func (e *Evidence) spacing(w plant.Wheel) signal.Time {
	if len(e.Trace.NotSampled) == 0 {
		return 0
	}
	frames := e.Trace.Motor[w].Between(math.MinInt64, math.MaxInt64)
	if e.Trace.Folds() { // some are enough
		frames = e.Trace.Motor[w].Before(math.MaxInt64, fewFrames)
	}
	return medianSpacing(frames, func(f *trace.Frame) signal.Time { return f.Start })
}

// unseenBetween says whether the sampler may have missed a frame between two that follow on
// each other, usual apart as a rule.
func (e *Evidence) unseenBetween(last, next *trace.Frame, usual signal.Time) bool {
	if len(e.Trace.NotSampled) == 0 || (next.Start-last.Start).Seconds() < missing*usual.Seconds() {
		return false
	}
	return e.notSampledIn(last.End, next.Start)
}

// notSampledIn says whether the sampler did not look at some time in [from, to].
func (e *Evidence) notSampledIn(from, to signal.Time) bool {
	all := e.Trace.NotSampled
	i, _ := slices.BinarySearchFunc(all, from, func(s trace.Span, t signal.Time) int { return cmp.Compare(s.To, t) })
	return i < len(all) && all[i].From <= to
}

// missed says whether the command of motor w that belongs to the update of frame
// f may have been missed by the sampler, g being the one nearest to it.
func (e *Evidence) missed(w plant.Wheel, f, g trace.Frame, usual signal.Time) bool {
	if len(e.Trace.NotSampled) == 0 || 2*max(g.Start-f.Start, f.Start-g.Start) < usual {
		return false
	}
	frames := e.Trace.Motor[w].Between(f.Start-longPause, f.Start+longPause)
	i := firstFrom(frames, f.Start)
	return i == 0 || i == len(frames) || e.unseenBetween(&frames[i-1], &frames[i], usual)
}
