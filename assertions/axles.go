package assertions

import (
	"fmt"

	"hilrig/assertions/law"
	"hilrig/assertions/measure"
	"hilrig/plant"
)

// pair are two motors that a split moves in one sense, one of each axle.
type pair struct {
	front, rear law.Corner
	is          Sense
}

// axles asks of a shift that gathers with time, of which no size is asked, that the front and the rear motors that a split moves in
// one sense move by its shares of one and the same shift, whatever that has come to.
func (b *branch) axles(v *view, d *declared, split *law.Split) (all []ask) {
	switch smoothing := b.lagging(); {
	case !ratioAsked(b.p, split):
		return nil
	case b.base == nil || b.base.Gain != 0 || d.perhaps != [4]bool{} || d.past != [4]bool{}:
		return nil // the baseline may be shifted, or a motor may come to its limit
	case b.e.mayCut(b.s) != [4]bool{} || b.e.mayCut(b.base) != [4]bool{} || smoothing > (b.s.To-b.s.Applied)/4:
		return nil
	}
	for _, p := range pairsOf(split) {
		if b.eachMoves(d, split, []law.Corner{p.front, p.rear}, p.is) {
			name := b.name(string(p.front) + " and " + string(p.rear) + " by their shares")
			all = append(all, asking(name, func(b *branch) Result { return v.of(b).byShares(b, name, split, p) }))
		}
	}
	return all
}

// pairsOf returns for each sense the first front and the first rear motor that a split moves in it, where it has both.
func pairsOf(split *law.Split) (pairs []pair) {
	for _, of := range [...]struct {
		corners []law.Corner
		is      Sense
	}{{split.Raise, Raised}, {split.Lower, Lowered}} {
		p := pair{is: of.is}
		for _, c := range of.corners {
			w, ok := c.Wheel(1) // which axle it is of is the same to both sides
			switch rear := w == plant.RearLeft || w == plant.RearRight; {
			case ok && rear && p.rear == "":
				p.rear = c
			case ok && !rear && p.front == "":
				p.front = c
			}
		}
		if p.front != "" && p.rear != "" {
			pairs = append(pairs, p)
		}
	}
	return pairs
}

// byShares judges that two motors moved by their shares of one shift. Each may be off by the tolerance of the declared shift, one as
// much above as the other below, and they may stand apart as far as the policy lets motors do; besides each may be off by what counts as
// no shift and by a step of its commands.
func (v *view) byShares(b *branch, name string, split *law.Split, p pair) Result {
	turn := b.s.Turn(b.p)
	front, _ := p.front.Wheel(turn)
	rear, _ := p.rear.Wheel(turn)
	for _, w := range []plant.Wheel{front, rear} {
		if v.errs[w] != nil {
			return unjudged(name, v.errs[w])
		}
	}
	within := b.p.ShiftAt.Within
	most := (1 + within) / (1 - within)
	if apart := b.p.MotorsEqualWithin; apart != nil {
		most *= 1 + *apart
	}
	larger, smaller := front, rear
	if v.part(split, p.is, front) < v.part(split, p.is, rear) {
		larger, smaller = rear, front
	}
	est, ok := v.ahead(b, split, p.is, larger, smaller, most)
	if !ok {
		return unjudged(name, b.e.silent(larger, b.s))
	}
	slack := (b.e.deadShift() + b.e.offBy()) * (1/split.ShareOf(front) + 1/split.ShareOf(rear))
	limit := AtMost(slack)
	r := found(name, "shift of "+line(larger)+" beyond that of "+line(smaller)+", by their shares", est, nil, limit, b.s)
	return r.explained(fmt.Sprintf("%s moved by %s of range and %s by %s, where the policy has them move by %s and %s of one shift: that would be a shift of %s for the one and of %s for the other, farther apart than within: %s and what counts as none allow",
		line(front), share(v.shift(front).Value), line(rear), share(v.shift(rear).Value), share(split.ShareOf(front)), share(split.ShareOf(rear)),
		share(v.part(split, p.is, front)), share(v.part(split, p.is, rear)), share(within)),
		b.e.remedy(est, limit, shorter(b.s, b.base), percent, " %"))
}

// part returns what the whole shift comes to by how far a motor moved in a sense and by its share.
func (v *view) part(split *law.Split, is Sense, w plant.Wheel) float64 {
	return is.sign() * v.shift(w).Value / split.ShareOf(w)
}

// sign is that of a shift in the sense of a motor that moves.
func (s Sense) sign() float64 {
	if s == Lowered {
		return -1
	}
	return 1
}

// ahead estimates by how much the shift, by a motor and its share, lies beyond most times that by another, command by command with what
// the other is commanded at that time: as long as both gather alike, that spreads far less than what they gather. ok is false where
// there are too few commands.
func (v *view) ahead(b *branch, split *law.Split, is Sense, w, other plant.Wheel, most float64) (est measure.Estimate, ok bool) {
	one, two := withoutUncertain(b.e.frames(w, b.s)), withoutUncertain(b.e.frames(other, b.s))
	if len(one) < fewest || len(two) < fewest {
		return est, false
	}
	scale, of := is.sign()/split.ShareOf(w), is.sign()*most/split.ShareOf(other)
	differences, at := make([]float64, len(one)), 0
	for k, f := range one {
		at = nearestFrom(two, at, f.End)
		differences[k] = scale*(f.Value-v.base[w].Value) - of*(two[at].Value-v.base[other].Value)
	}
	systematic := measure.RootSumSquare(scale*v.base[w].Expanded()/2, of*v.base[other].Expanded()/2, scale*v.now[w].Systematic, of*v.now[other].Systematic)
	return measure.MeanOf(batched(differences), systematic), true
}
