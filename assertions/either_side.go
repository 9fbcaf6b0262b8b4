package assertions

import (
	"cmp"
	"slices"

	"hilrig/assertions/law"
	"hilrig/plant"
	"hilrig/rig/trace"
)

// eitherSide asks of a step in which the policy leaves open which side is the outside, and nothing else, that the motors
// move as in a turn to one side or as in one to the other. It is nil where that asks no motor for a clear shift.
func (b *branch) eitherSide(d *declared) []ask {
	if d.open&law.SideOpen == 0 || d.open&^(law.SideOpen|law.OfSize) != 0 {
		return nil
	}
	b.shown = b.surelyShifts()
	for _, turn := range bothTurns {
		one := b.turning(turn)
		if d := one.meant(b.s); !one.clearly(&d) {
			return nil
		}
	}
	name := b.name("motors moved as in a turn to one side")
	return []ask{asking(name, func(b *branch) Result {
		if err := b.sideStands(); err != nil {
			return unjudged(name, err)
		}
		left, right := b.turning(bothTurns[0]).movedAll(name), b.turning(bothTurns[1]).movedAll(name)
		if c := left.Verdict.Compare(right.Verdict); c > 0 || c == 0 && byRoom(left, right) > 0 {
			return right
		}
		return left
	})}
}

// sideStands says where the yaw rate that goes out is now to one side and now to the other, as by its noise: firmware that
// takes outside and inside from it then moves the motors as in a turn now to this side and now to that.
func (b *branch) sideStands() error {
	if from := b.p.TurnFrom; from != 0 && from != law.TurnFromYawRate {
		return nil
	}
	left, right := false, false
	for i, x := range b.e.Trace.SentBetween(trace.SentYawRate, b.s.Applied, b.s.To) {
		if i == 0 {
			continue // what the step before held may still have been on its way
		}
		left, right = left || x.Value > 0, right || x.Value < 0
	}
	if left && right {
		return b.s.undecided("the yaw rate that went out was now to the left and now to the right, and firmware may take the outside of the turn from it; hold a yaw rate beyond the sensor's noise")
	}
	return nil
}

// bothTurns are a turn to the left and one to the right.
var bothTurns = [...]int{1, -1}

// turning returns the situation for firmware that takes outside and inside for those of a turn to one side, +1 left and -1
// right, where the policy leaves that open.
func (b *branch) turning(turn int) *branch {
	one := *b
	one.turn = turn
	return &one
}

// clearly says whether some motor is surely moved by more than what counts as none.
func (b *branch) clearly(d *declared) bool {
	none := b.e.deadShift()
	if b.shown { // it is one by just that
		none = 0
	}
	return d.shiftAsked(none)
}

// movedAll judges all four motors by where the law has them, and returns the worst.
func (b *branch) movedAll(name string) Result {
	v := (&view{}).of(b)
	var all []Result
	for _, w := range plant.Wheels {
		est, limit := v.shift(w), v.openAtEnds(w, b.e.deadShift())
		r := found(name, "shift of "+w.String(), est, v.errs[w], limit, b.s)
		all = append(all, r.explained(w.String()+" moved by "+share(est.Value)+" of range; in a turn to neither side the policy has the four motors where they stand, here at "+
			share(limit.Low)+" to "+share(limit.High), b.e.remedy(est, limit, shorter(b.s, b.base), percent, " %")))
	}
	return slices.MaxFunc(all, func(x, y Result) int {
		if c := x.Verdict.Compare(y.Verdict); c != 0 {
			return c
		}
		return byRoom(x, y)
	})
}

// byRoom compares two results of one verdict: the one that lies nearer to its limit, or farther beyond, is the greater.
func byRoom(x, y Result) int {
	room := func(r Result) float64 {
		m := r.measured
		return min(m.Estimate-m.Limit.Low, m.Limit.High-m.Estimate)
	}
	return cmp.Compare(room(y), room(x))
}
