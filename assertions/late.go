package assertions

import (
	"cmp"
	"fmt"
	"slices"

	"hilrig/plant"
	"hilrig/rig/signal"
	"hilrig/rig/trace"
)

const (
	// lateShare is by how much of the response that the policy allows the rig's own
	// wires may be late before what was played is no longer what was asked for.
	lateShare = 0.01
	// lateOtherwise is the same where the policy says nothing of a response.
	lateOtherwise = 100 * signal.Microsecond
	// aftermath is how long what was played late may still move a motor.
	aftermath = 50 * signal.Millisecond
	// missing is from which multiple of their usual distance on two frames may have
	// had one between them.
	missing = 1.5
)

// Judge holds a check against the evidence. Where the rig played its own wires
// late, a result that does not rest on the part that it played in time is
// undecided: it may be the rig's doing.
func Judge(c Check, e *Evidence) []Result {
	results := c.Judge(e)
	d, late := e.Late()
	if !late {
		return results
	}
	for i := range results {
		if r := &results[i]; r.Verdict != NotAsked && !r.sifted {
			why := fmt.Sprintf("the rig played its own wires up to %s late at %v, more than %s; play it on a machine that keeps time", span(d.Worst), d.From, span(e.lateBound()))
			*r = unmeasured(*r, Undecided, why)
		}
	}
	return results
}

// Late returns the worst stretch of a case, its comparisons and repeats included, in which
// the rig played its own wires late by more than its checks bear: a hundredth of the response
// that the policy allows, or 100 us where it declares none.
func (e *Evidence) Late() (worst trace.Delay, late bool) {
	for _, one := range append([]*Evidence{e, e.Off, e.NoBoard}, e.Repeats...) {
		if one == nil || one.Trace == nil || len(one.Steps) == 0 {
			continue
		}
		d, ok := one.lateIn(one.Steps[0].Applied, one.Steps[len(one.Steps)-1].To)
		if ok && d.Worst > worst.Worst {
			worst, late = d, true
		}
	}
	return worst, late
}

// lateBound is by how much the rig's own wires may be late.
func (e *Evidence) lateBound() signal.Time {
	if p := e.policy(); p.Response != nil && p.Response.AtMost > 0 {
		return signal.FromSeconds(lateShare * p.Response.AtMost.Seconds())
	}
	return lateOtherwise
}

// lateIn returns the worst stretch within [from, to] in which the rig was later
// than its checks bear.
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

// spacing returns the median time between the beginnings of a motor's frames.
func (e *Evidence) spacing(w plant.Wheel) signal.Time {
	frames := e.Trace.Motor[w].Frames
	if len(frames) < 2 || len(e.Trace.Blind) == 0 {
		return 0
	}
	apart := make([]signal.Time, len(frames)-1)
	for i := range apart {
		apart[i] = frames[i+1].Start - frames[i].Start
	}
	slices.Sort(apart)
	return apart[len(apart)/2]
}

// unseen says whether a frame of motor w may have been missed by the sampler
// between frame i and the one before it, usual apart as a rule.
func (e *Evidence) unseen(w plant.Wheel, i int, usual signal.Time) bool {
	frames := e.Trace.Motor[w].Frames
	if i <= 0 || i >= len(frames) || len(e.Trace.Blind) == 0 {
		return false
	}
	last, next := &frames[i-1], &frames[i]
	if (next.Start - last.Start).Seconds() < missing*usual.Seconds() {
		return false
	}
	return e.blindIn(last.End, next.Start)
}

// blindIn says whether the sampler did not look at some time in [from, to].
func (e *Evidence) blindIn(from, to signal.Time) bool {
	all := e.Trace.Blind
	i, _ := slices.BinarySearchFunc(all, from, func(s trace.Span, t signal.Time) int { return cmp.Compare(s.To, t) })
	return i < len(all) && all[i].From <= to
}

// missed says whether the command of motor w that belongs to the update of frame
// f may have been missed by the sampler, g being the one nearest to it.
func (e *Evidence) missed(w plant.Wheel, f, g trace.Frame, usual signal.Time) bool {
	if len(e.Trace.Blind) == 0 || 2*max(g.Start-f.Start, f.Start-g.Start) < usual {
		return false
	}
	frames := e.Trace.Motor[w].Frames
	i, _ := slices.BinarySearchFunc(frames, f.Start, func(x trace.Frame, t signal.Time) int { return cmp.Compare(x.Start, t) })
	return i == 0 || i == len(frames) || e.unseen(w, i, usual)
}
