package assertions

import (
	"fmt"
	"strings"

	"hilrig/assertions/law"
	"hilrig/assertions/measure"
)

// together asks of a step in which motors share a shift by shares that go with something, so that none of them surely moves,
// that those of each sense move together, and where a size is declared and none may come to a limit by how much: as firmware does that
// shares the shift evenly.
func (b *branch) together(v *view, d *declared, split *law.Split) (all []ask) {
	if split == nil || !split.Varies {
		return nil
	}
	even := b.evenly()
	shares := even.splitOf(split)
	evenly, whole := even.meant(b.s), &view{}
	for _, of := range [...]struct {
		corners []law.Corner
		is      Sense
	}{{split.Raise, Raised}, {split.Lower, Lowered}} {
		if len(of.corners) < 2 || !even.eachMoves(&evenly, shares, of.corners, of.is) {
			continue
		}
		name := b.name(motorsOf(of.corners) + " together " + string(of.is))
		all = append(all, asking(name, func(b *branch) Result {
			return v.of(b).movedTogether(b, whole.of(b.evenly()), name, of.corners, of.is)
		}))
		if sized(b.p) && d.perhaps == [4]bool{} && d.past == [4]bool{} {
			size := b.name("size of shift of " + motorsOf(of.corners) + " together")
			all = append(all, asking(size, func(b *branch) Result {
				return v.of(b).sizeTogether(b, whole.of(b.evenly()), size, of.corners)
			}))
		}
	}
	return all
}

// evenly returns the situation for firmware that keeps the policy with even shares, each motor of a varying split moving by the
// declared shift: of varying ones those of a sense together move by no less than that.
func (b *branch) evenly() *branch {
	one, e, p := *b, *b.e, *b.p
	p.Understeer, p.Oversteer = one.splitOf(p.Understeer), one.splitOf(p.Oversteer)
	e.Policy, one.e, one.p = &p, &e, &p
	return &one
}

// splitOf returns a split with even shares where they vary.
func (b *branch) splitOf(split *law.Split) *law.Split {
	if split == nil || !split.Varies {
		return split
	}
	even := *split
	even.Varies, even.Front, even.Rear = false, 1, 1
	return &even
}

// eachMoves says whether the law surely moves each of some motors in a sense.
func (b *branch) eachMoves(d *declared, split *law.Split, corners []law.Corner, is Sense) bool {
	for _, c := range corners {
		w, ok := c.Wheel(b.s.Turn(b.p))
		if !ok {
			return false
		}
		if clear, ok := b.sense(d, split, w, is); !ok || clear != is {
			return false
		}
	}
	return true
}

// motorsOf names motors in a row.
func motorsOf(corners []law.Corner) string {
	var all []string
	for _, c := range corners {
		all = append(all, string(c))
	}
	return strings.Join(all, " and ")
}

// movedTogether judges that what some motors moved by comes together to a shift in a sense. Whole is the view for even shares, by which
// each of them moves by no more than that.
func (v *view) movedTogether(b *branch, whole *view, name string, corners []law.Corner, is Sense) Result {
	t, ends := b.e.deadShift(), b.ends()
	limit, _ := limitOf(is, t)
	var terms []measure.Term
	value, kept, steady := 0.0, measure.Interval{}, true
	for _, c := range corners {
		w, _ := c.Wheel(b.s.Turn(b.p))
		if v.errs[w] != nil {
			return unjudged(name, v.errs[w])
		}
		shift, i := v.shift(w), whole.shifts[w]
		room, moves := ends.High-v.from[w], i.Low > 0
		if is == Lowered {
			room, moves = v.from[w]-ends.Low, i.High < 0
		}
		if room <= t || sized(b.p) && whole.perhaps[w] && !moves {
			return unjudged(name, b.s.undecided("%s", v.noRoom(b, w, side{c, is})))
		}
		if sized(b.p) {
			limit = between(min(limit.Low, i.Low), max(limit.High, i.High))
		}
		value, terms = value+shift.Value, append(terms, measure.Term{Of: shift, Slope: 1})
		all, ok := v.between(b, w)
		kept.Low, kept.High, steady = kept.Low+all.Interval().Low, kept.High+all.Interval().High, steady && ok
	}
	sum := measure.Combine(value, terms...)
	if steady && b.p.MayIntegrate() && kept.Against(limit) != measure.Across {
		sum = measure.Estimate{Value: kept.Low + kept.Width()/2, Systematic: kept.Width() / 4} // a shift that grows makes its mean uncertain
	}
	r := found(name, "shift of "+motorsOf(corners)+" together", sum, nil, limit, b.s)
	return r.explained(fmt.Sprintf("%s should together have been %s, however they share the shift, but the sum %s: their means moved by %s ± %s of range together, and less than %s counts as none",
		motorsOf(corners), is, went(sum, t), share(sum.Value), share(sum.Expanded()), share(t)),
		b.e.remedy(sum, limit, shorter(b.s, b.base), percent, " %"))
}

// sizeTogether judges how far some motors moved together, which is what those of the view for even shares move by, each of them by what
// counts as a shift more or less: one whose share comes to no more may stay.
func (v *view) sizeTogether(b *branch, whole *view, name string, corners []law.Corner) Result {
	var terms []measure.Term
	value, limit := 0.0, measure.Interval{}
	for _, c := range corners {
		w, _ := c.Wheel(b.s.Turn(b.p))
		if v.errs[w] != nil {
			return unjudged(name, v.errs[w])
		}
		shift, i, t := v.shift(w), whole.openAtEnds(w, b.e.deadShift()), b.e.deadShift()
		value, terms = value+shift.Value, append(terms, measure.Term{Of: shift, Slope: 1})
		limit.Low, limit.High = limit.Low+i.Low-t, limit.High+i.High+t
	}
	sum := measure.Combine(value, terms...)
	r := found(name, "shift of "+motorsOf(corners)+" together", sum, nil, limit, b.s)
	return r.explained(fmt.Sprintf("%s moved by %s ± %s of range together, however they share the shift; with a yaw error of %s deg/s and the gain at %s the policy declares %s to %s, its tolerances included",
		motorsOf(corners), share(sum.Value), share(sum.Expanded()), degrees(b.yawError()), share(b.s.Gain), share(limit.Low), share(limit.High)),
		b.e.remedy(sum, limit, shorter(b.s, b.base), percent, " %"))
}
