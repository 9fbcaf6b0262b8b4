package assertions

import (
	"fmt"
	"math"
	"slices"

	"hilrig/assertions/law"
	"hilrig/assertions/measure"
	"hilrig/plant"
)

// clearMultiple is how many dead shifts a declared size has to be before it is held
// against the measured one.
const clearMultiple = 3

// sizeUndeclared stands for the size of a shift, a share of range, where the policy declares none.
const sizeUndeclared = 0.2

// side is one motor of a split with the sense in which it should move.
type side struct {
	corner law.Corner
	is     Sense
}

// sides lists all four motors of a split: those raised and those lowered in
// the policy's order, then the others by their place in the turn, or by wheel
// where the car goes straight.
func (b *branch) sides(split *law.Split) []side {
	turn := b.s.Turn(b.p)
	var all []side
	var listed []plant.Wheel
	add := func(corners []law.Corner, is Sense) {
		for _, c := range corners {
			w, ok := c.Wheel(turn)
			if !ok || !slices.Contains(listed, w) {
				listed = append(listed, w)
				all = append(all, side{c, is})
			}
		}
	}
	if split != nil {
		add(split.Raise, Raised)
		add(split.Lower, Lowered)
	}
	others := law.Places
	if turn == 0 {
		others = law.Corners[:4]
	}
	add(others, Unchanged)
	return all
}

// split plans a situation in which torque is to be shifted.
func (b *branch) split(split *law.Split) []ask {
	sides := b.sides(split)
	all := asks(sides, b.moved)
	if b.limited(sides) {
		return all // what sum and size come to there is at_the_limit's to say
	}
	if b.p.SumKept {
		name := b.name("sum kept")
		all = append(all, asking(name, func(b *branch) Result { return b.e.sumKept(name, 0, b.s, b.base) }))
	}
	expected, ok := b.expected()
	if !ok || expected <= clearMultiple*b.e.deadShift() {
		return all
	}
	for _, m := range sides {
		if m.is != Unchanged {
			all = append(all, asking(b.name("size of shift of "+string(m.corner)), func(b *branch) Result { return b.size(m, expected) }))
		}
	}
	return all
}

// moved asks whether a motor moved as it should.
func (b *branch) moved(m side) ask {
	name := b.name(string(m.corner) + " " + string(m.is))
	return asking(name, func(b *branch) Result { return b.e.moved(name, m.corner, m.is, b.s, b.base) })
}

// noShift plans a situation in which none is asked.
func (b *branch) noShift() []ask {
	sides := b.sides(nil)
	all := asks(sides, b.moved)
	if b.p.MotorsEqualWithin == nil {
		return all
	}
	var corners []law.Corner
	for _, m := range sides {
		corners = append(corners, m.corner)
	}
	name := b.name("motors equal")
	return append(all, asking(name, func(b *branch) Result { return b.e.equal(name, corners, *b.p.MotorsEqualWithin, b.s) }))
}

// expected returns the size of the shift that the policy declares for the
// step's yaw error and gain trim, a share of range, at least 0.
func (b *branch) expected() (float64, bool) {
	at := b.p.ShiftAt
	if at == nil || b.p.Demand == nil || !(b.acting(at.Error) > 0) || !(at.Gain > 0) {
		return 0, false
	}
	x := at.Is * (math.Abs(b.acting(b.yawError())) / b.acting(at.Error)) * (b.s.Gain / at.Gain)
	return x, x >= 0 && !math.IsInf(x, 0)
}

// size judges how far one motor moved against what the policy declares.
func (b *branch) size(m side, expected float64) Result {
	name := b.name("size of shift of " + string(m.corner))
	if m.is == Lowered {
		expected = -expected
	}
	allowed := math.Abs(expected) * b.p.ShiftAt.Within
	return b.sized(name, m.corner, expected, allowed)
}

// sized judges whether a motor's shift is the expected one, within allowed.
func (b *branch) sized(name string, corner law.Corner, expected, allowed float64) Result {
	limit := measure.Within(expected, allowed)
	in := readings{e: b.e}
	w := in.wheel(corner, b.s)
	est := in.shift(w, b.s, b.base)
	r := found(name, "shift of "+called(corner, w), est, in.err, limit, b.s)
	return r.explained(fmt.Sprintf("%s moved by %s ± %s of range; with a yaw error of %s deg/s and the gain at %s the policy declares %s, within %s",
		called(corner, w), share(est.Value), share(est.Expanded()), degrees(b.yawError()), share(b.s.Gain), share(expected), share(allowed)),
		remedy(est, limit, shorter(b.s, b.base), percent, " %"))
}
