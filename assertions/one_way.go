package assertions

import (
	"fmt"
	"math"
	"slices"

	"hilrig/assertions/law"
	"hilrig/assertions/measure"
	"hilrig/plant"
)

// tellsWay are the situations in which it tells something which way a motor goes, if it goes at all: the sense of the shift is
// what the policy declares of them.
var tellsWay = []string{"understeer", "oversteer", "opposite_lock", "reverse"}

// oneWay asks of a step in which the law has no motor surely move, as where no size of the shift is declared and one of
// any size may move none, that no motor goes a way in which the law never has it go: one that the law raises or leaves is not lowered,
// one that it lowers or leaves is not raised, one that it leaves stays. It is nil where the law has each go either way, or none at
// all. A board that moves no motor passes, for it may keep the policy; of the keys of the policy the situation's own
// alone counts as asked. Where a size is declared in proportion to the yaw error, nothing is asked so: a larger error, or more
// gain, has a motor surely move.
func (b *branch) oneWay(v *view, d *declared) []ask {
	if sized(b.p) || !slices.Contains(tellsWay, b.of) {
		return nil
	}
	var all []ask
	moves := false
	for _, m := range b.sides(nil) {
		w, ok := m.corner.Wheel(b.s.Turn(b.p))
		if !ok {
			continue
		}
		m.is = d.mayGo(w)
		moves = moves || m.is != Unchanged
		switch never, ok := against(m.is); {
		case m.is == Unchanged:
			all = append(all, b.senseOf(v, m))
		case ok && b.nearlyOneWay(d, w, m.is):
			name := b.name(string(m.corner) + " not " + string(never))
			all = append(all, asking(name, func(b *branch) Result { return v.of(b).notAgainst(b, name, m) }))
		}
	}
	if !moves {
		return nil
	}
	for i := range all {
		all[i].only = []string{b.of}
	}
	return all
}

// notRaised asks of a step in which no motor is to be shifted, and traction control may cut some, that none is raised by
// more than the cut of the baseline leaves it: a cut only lowers. It is nil where the policy leaves that open of all motors.
func (b *branch) notRaised(v *view, d *declared) (all []ask) {
	for _, m := range b.sides(nil) {
		w, ok := m.corner.Wheel(b.s.Turn(b.p))
		if !ok || d.bare[w].High > little || d.shifts[w].High > sizeUndeclared/2 {
			continue
		}
		name := b.name(string(m.corner) + " not " + string(Raised))
		one := asking(name, func(b *branch) Result { return v.of(b).highest(b, name, m.corner, w) })
		one.only = []string{b.of}
		all = append(all, one)
	}
	return all
}

// highest judges that no command of a motor late in a step is above what it may be with no shift. One that is cut now and again has no
// certain mean, and its commands are the others.
func (v *view) highest(b *branch, name string, corner law.Corner, w plant.Wheel) Result {
	if v.errs[w] != nil {
		return unjudged(name, v.errs[w])
	}
	late := lastHalf(b.s)
	frames := b.e.frames(w, late)
	if len(frames) < fewest {
		return unjudged(name, b.e.silent(w, late))
	}
	top := measure.Interval{Low: math.Inf(-1), High: math.Inf(-1)}
	for _, f := range frames {
		if math.IsNaN(f.Value) || math.IsNaN(f.Uncertainty) {
			return unjudged(name, b.s.blockedAt(Undecided, f.End, "the command of %s at %v is no number", line(w), f.End))
		}
		top.Low, top.High = max(top.Low, f.Value-f.Uncertainty), max(top.High, f.Value+f.Uncertainty)
	}
	est := measure.Estimate{Value: middleOf(top) - v.base[w].Value, Systematic: top.Width() / 4} // of which the interval is twice that to either side
	limit := AtMost(max(b.e.deadShift(), v.shifts[w].High))
	r := found(name, "highest command of "+called(corner, w)+", from the baseline", est, nil, limit, b.s)
	return r.explained(fmt.Sprintf("%s was %s: a command of it lay %s of range above the baseline, and by the policy there is no shift here, though it may be cut",
		called(corner, w), Raised, share(est.Value)), r.moreRoom("the policy's dead_shift"))
}

// eitherWay is the sense of a shift that may go both ways.
const eitherWay Sense = "raised or lowered"

// mayGo returns the way in which the law may have a motor go, if it has it go at all.
func (d *declared) mayGo(w plant.Wheel) Sense {
	switch i := d.bare[w]; {
	case still(i):
		return Unchanged
	case i.Low >= -little:
		return Raised
	case i.High <= little:
		return Lowered
	}
	return eitherWay
}

// against returns the other way; ok is false of a motor that may go both ways, or stays.
func against(is Sense) (other Sense, ok bool) {
	switch is {
	case Raised:
		return Lowered, true
	case Lowered:
		return Raised, true
	}
	return "", false
}

// nearlyOneWay says whether the policy's tolerances leave a motor no clear shift the other way.
func (b *branch) nearlyOneWay(d *declared, w plant.Wheel, is Sense) bool {
	most := clearMultiple * b.e.deadShift()
	if is == Raised {
		return d.shifts[w].Low >= -most
	}
	return d.shifts[w].High <= most
}

// notAgainst judges that a motor did not go against the way in which the law has it go.
func (v *view) notAgainst(b *branch, name string, m side) Result {
	w, _ := m.corner.Wheel(b.s.Turn(b.p))
	if v.errs[w] != nil {
		return unjudged(name, v.errs[w])
	}
	t, est := b.e.deadShift(), v.shift(w)
	limit := AtLeast(min(-t, v.shifts[w].Low))
	if m.is == Lowered {
		limit = AtMost(max(t, v.shifts[w].High))
	}
	if all, ok := v.between(b, w); ok && b.p.MayIntegrate() && all.Interval().Against(limit) != measure.Across {
		est = all // a shift that grows makes its mean uncertain, and not which way it goes
	}
	never, _ := against(m.is)
	r := found(name, "shift of "+called(m.corner, w), est, nil, limit, b.s)
	return r.explained(fmt.Sprintf("%s was %s: its mean moved by %s ± %s of range from the baseline, and by the policy it may be %s here or left alone",
		called(m.corner, w), never, share(est.Value), share(est.Expanded()), m.is), b.e.remedy(est, limit, shorter(b.s, b.base), percent, " %"))
}
