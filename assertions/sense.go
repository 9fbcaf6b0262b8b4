package assertions

import (
	"fmt"
	"math"
	"slices"

	"hilrig/assertions/law"
	"hilrig/assertions/measure"
	"hilrig/plant"
)

// senseOf asks whether a motor moved in the sense that the law has for it, or stayed.
func (b *branch) senseOf(v *view, m side) ask {
	name := b.name(string(m.corner) + " " + string(m.is))
	return asking(name, func(b *branch) Result { return v.of(b).moved(b, name, m) })
}

// moved judges a motor's sense of shift.
func (v *view) moved(b *branch, name string, m side) Result {
	w, _ := m.corner.Wheel(b.s.Turn(b.p))
	if v.errs[w] != nil {
		return unjudged(name, v.errs[w])
	}
	t, i := b.e.deadShift(), v.shifts[w]
	limit, _ := limitOf(m.is, t)
	room := true
	switch m.is {
	case Raised:
		limit.Low, room = min(limit.Low, i.Low), i.Low > 0 || !v.perhaps[w]
	case Lowered:
		limit.High, room = max(limit.High, i.High), i.High < 0 || !v.perhaps[w]
	default:
		limit = between(min(i.Low, -t), max(i.High, t))
	}
	if !sized(b.p) && m.is != Unchanged { // the room that it had is all that the law says
		limit, _ = limitOf(m.is, t)
		ends := b.ends()
		room = m.is == Raised && v.from[w]+t < ends.High || m.is == Lowered && v.from[w]-t > ends.Low
	}
	est := v.shift(w)
	if m.is == Unchanged {
		if beyond, ok := v.staysBeyond(b, w, limit); ok {
			est = beyond
		}
	} else if all, ok := v.between(b, w); ok && b.p.MayIntegrate() && all.Interval().Against(limit) != measure.Across {
		est = all
	}
	if !room {
		return unjudged(name, b.s.undecided("%s", v.noRoom(b, w, m)))
	}
	if b.p.MayIntegrate() && m.is != Unchanged && v.branch == law.Open && est.Interval().Against(limit) != measure.Inside {
		return unjudged(name, b.s.undecided("what went out makes now %s and now another branch, in which a shift that gathers with time may go: the demand is %s deg/s, the yaw rate %s deg/s; hold a yaw rate farther from 0 and from the demand",
			b.title(), degrees(b.s.Demand), degrees(b.s.YawRate)))
	}
	r := found(name, "shift of "+called(m.corner, w), est, nil, limit, b.s)
	return r.explained(fmt.Sprintf("%s should have been %s, but %s: its mean moved by %s ± %s of range from the baseline, and %s",
		called(m.corner, w), m.is, went(est, t), share(est.Value), share(est.Expanded()), v.counts(b, m, limit)),
		b.e.remedy(est, limit, shorter(b.s, b.base), percent, " %"))
}

// staysBeyond returns between what a motor's shift stayed in the last half of the step where every command of it lies beyond a
// limit for sure; ok is false where that is not so. A shift that grows makes its mean uncertain, and not that. One that grows with
// time may hold what some moments of the step allow: to the side of such a one the limit says nothing of every command.
func (v *view) staysBeyond(b *branch, w plant.Wheel, limit Limit) (est measure.Estimate, ok bool) {
	if est, ok = v.between(b, w); !ok {
		return est, false
	}
	is, bare := est.Interval(), v.bare[w]
	holds := func(allowed float64) bool { return b.p.MayIntegrate() && allowed > little }
	return est, is.Low > limit.High && !holds(bare.High) || is.High < limit.Low && !holds(-bare.Low)
}

// between returns between what a motor's shift stayed in the last half of the step, every command of it; ok is false where there
// are too few. A shift that grows all the while has no mean that another step would have again, and this it has.
func (v *view) between(b *branch, w plant.Wheel) (est measure.Estimate, ok bool) {
	frames, all := b.e.frames(w, lastHalf(b.s)), measure.RangeOf()
	if len(frames) < fewest {
		return est, false
	}
	base := v.base[w]
	for _, f := range frames {
		if math.IsNaN(f.Value) {
			return est, false
		}
		all.Include(f.Value - base.Value - f.Uncertainty)
		all.Include(f.Value - base.Value + f.Uncertainty)
	}
	half := all.Width()/2 + base.Expanded()
	return measure.Estimate{Value: (all.Low + all.High) / 2, Systematic: half / 2}, true // of which the interval is twice that to either side
}

// counts says in words what a shift is held against.
func (v *view) counts(b *branch, m side, limit Limit) string {
	t := b.e.deadShift()
	switch {
	case m.is == Unchanged && (limit.High > t || limit.Low < -t):
		return fmt.Sprintf("the policy has it at %s to %s, its tolerances included", share(limit.Low), share(limit.High))
	case m.is != Unchanged && !(limit.Low == t || limit.High == -t):
		return fmt.Sprintf("the policy has it beyond %s, its tolerances included", share(t))
	}
	return "less than " + share(t) + " counts as none"
}

// sizeOf asks whether a motor moved as far as the law says.
func (b *branch) sizeOf(v *view, m side) ask {
	name := b.name("size of shift of " + string(m.corner))
	return asking(name, func(b *branch) Result { return v.of(b).size(b, name, m) })
}

// size judges how far a motor moved.
func (v *view) size(b *branch, name string, m side) Result {
	w, _ := m.corner.Wheel(b.s.Turn(b.p))
	if v.errs[w] != nil {
		return unjudged(name, v.errs[w])
	}
	est, limit := v.shift(w), v.openAtEnds(w, b.e.deadShift())
	r := found(name, "shift of "+called(m.corner, w), est, nil, limit, b.s)
	return r.explained(fmt.Sprintf("%s moved by %s ± %s of range; with a yaw error of %s deg/s and the gain at %s the policy declares %s to %s, its tolerances included%s",
		called(m.corner, w), share(est.Value), share(est.Expanded()), degrees(b.yawError()), share(b.s.Gain), share(limit.Low), share(limit.High), v.ending(w)),
		b.e.remedy(est, limit, shorter(b.s, b.base), percent, " %"))
}

// openAtEnds returns what the law has for a motor's shift, wider by t where it reaches to the highest
// or the lowest command allowed, or is there for sure: what stands there is read about it and cannot lie beyond, and
// whether it is allowed at all is for cap and floor to say.
func (v *view) openAtEnds(w plant.Wheel, t float64) Limit {
	limit := v.shifts[w]
	if v.surely[w] { // what an end comes to is read no better than a shift
		return between(limit.Low-t, limit.High+t)
	}
	if v.from[w]+limit.High >= v.allowed.High-little {
		limit.High += t
	}
	if v.from[w]+limit.Low <= v.allowed.Low+little {
		limit.Low -= t
	}
	return limit
}

// ending says in words at which end of its range a motor may stand.
func (v *view) ending(w plant.Wheel) string {
	switch {
	case !v.perhaps[w]:
		return ""
	case math.Abs(v.from[w]+v.shifts[w].High-v.allowed.High) < math.Abs(v.from[w]+v.shifts[w].Low-v.allowed.Low):
		return ", and no more than " + share(v.allowed.High) + " may be commanded"
	}
	return ", and no less than " + share(v.allowed.Low) + " may be commanded"
}

// countsOnThrottle says what to do where motors stand otherwise than the throttle tells.
func (b *branch) countsOnThrottle() string {
	text := fmt.Sprintf("the case counts on the throttle of %s; %s", share(b.s.Throttle), b.e.orCopy("move that", "with another throttle"))
	if !b.e.curveKnown() {
		text += ", or declare the throttle_curve as none or calibrated"
	}
	return text
}

// sumOf asks whether the sum of the four commands is that of the baseline. Where no bound of the shift is declared, no throttle
// leaves surely enough room for it, and a motor that stands at its end is one of the ways to keep the policy.
func (b *branch) sumOf(v *view) ask {
	name := b.name("sum kept")
	if !b.bounded() {
		name = b.name("sum kept, unless a motor stands at its limit")
	}
	return asking(name, func(b *branch) Result {
		v, within := v.of(b), b.sumRead()
		kept := b.e.sumKept(name, measure.Within(0, within), b.s, b.base)
		if !b.bounded() {
			if kept.Verdict != Pass && v.standsAtEnd(b.e.deadShift()) {
				return b.e.sumKept(name, between(math.Inf(-1), math.Inf(1)), b.s, b.base)
			}
			return kept
		}
		at, limited := v.limited()
		if !limited || kept.Verdict == Pass && !v.surely[at] {
			return kept
		}
		// One motor may come to an end of its range and may not: what is beyond all that this allows is none of its doing.
		if may := v.cutSum(); !v.surely[at] {
			if beyond := b.e.sumKept(name, between(may.Low-within, may.High+within), b.s, b.base); beyond.Verdict == Fail {
				return beyond
			}
		}
		return unjudged(name, b.s.undecided("%s stood at %s in the baseline, which leaves it too little room for the shift, so that the sum need not be kept: %s",
			at, share(v.from[at]), b.countsOnThrottle()))
	}).of("sum")
}

// sumRead is by how much the sum of the four commands may differ and count as kept: by the law each of them may be off by its
// steps, as by a throttle that is read in such.
func (b *branch) sumRead() float64 {
	coarse := b.resolutionOf()
	if b.p.Resolution == nil {
		coarse = coarseUndeclared
	}
	return b.e.deadShift() + 4*max(coarse, b.e.CommandStep)
}

// cutSum returns by how much the sum of the four commands may change where a motor may come to an end of its range,
// 0 included: as the shifts of the four together do, each between its least and its most.
func (v *view) cutSum() (by Limit) {
	for _, s := range v.bare {
		by.Low, by.High = by.Low+s.Low, by.High+s.High
	}
	return between(min(by.Low, 0), max(by.High, 0))
}

// coarseUndeclared is by how much a command may be off where the policy has no resolution, share of range; common
// practice, no source: a throttle pulse is read in us, of which it has some 500 to 1000.
const coarseUndeclared = 0.002

// limited returns a motor that by the declared bound of the shift may come to an end of its range, first one that surely
// does.
func (v *view) limited() (at plant.Wheel, limited bool) {
	for _, w := range plant.Wheels {
		if v.perhaps[w] {
			if at, limited = w, true; v.surely[w] {
				return at, true
			}
		}
	}
	return at, limited
}

// standsAtEnd says whether some motor stands within t of an end of its range, or beyond.
func (v *view) standsAtEnd(t float64) bool {
	return slices.ContainsFunc(v.now[:], func(now measure.Estimate) bool { return now.Value >= v.ends.High-t || now.Value <= v.ends.Low+t })
}

// moving lists the motors that a branch of the split moves, none where s is nil.
func moving(s *law.Split) (all []side) {
	if s == nil {
		return nil
	}
	for _, c := range s.Raise {
		all = append(all, side{c, Raised})
	}
	for _, c := range s.Lower {
		all = append(all, side{c, Lowered})
	}
	return all
}
