package assertions

import (
	"fmt"
	"math"

	"hilrig/assertions/law"
	"hilrig/assertions/measure"
)

// cap asks whether every command keeps the policy's cap.
func (b *branch) cap() []ask {
	if !(math.Abs(b.s.Steer) > b.p.Cap.SteerAbove) {
		return b.notAsked(fmt.Sprintf("the cap holds above %s deg of steering; this step has %s deg", degrees(b.p.Cap.SteerAbove), degrees(b.s.Steer)))
	}
	return b.everyMotor(AtMost(b.p.Cap.Of), "at most "+share(b.p.Cap.Of))
}

// floor asks whether every command keeps the policy's floor.
func (b *branch) floor() []ask {
	floor := *b.p.Floor
	if b.s.Throttle < floor {
		return b.notAsked(fmt.Sprintf("the floor of %s holds with the throttle at or above it; this step has %s", share(floor), share(b.s.Throttle)))
	}
	return b.everyMotor(AtLeast(floor), "at least "+share(floor))
}

// everyMotor asks whether every frame of all four motors keeps limit.
func (b *branch) everyMotor(limit Limit, words string) []ask {
	return asks(b.sides(nil), func(m side) ask {
		name := b.name(string(m.corner) + " " + words)
		return asking(name, func(b *branch) Result { return b.e.keeps(name, m.corner, limit, b.s) })
	})
}

// ends returns the highest and the lowest command that a motor may have in the
// step: the policy's cap and floor where they hold, else the ends of the range.
func (b *branch) ends() Limit {
	l := between(b.e.Lowest, 1)
	if c := b.p.Cap; c != nil && math.Abs(b.s.Steer) > c.SteerAbove {
		l.High = min(l.High, c.Of)
	}
	if f := b.p.Floor; f != nil && b.s.Throttle >= *f {
		l.Low = max(l.Low, *f)
	}
	return l
}

// limited says whether a motor of the split comes to the end of its range, as far as the steps
// tell: from the throttle, by the declared size; where there is none, it takes room for a fifth
// of the range to say that it does not.
func (b *branch) limited(sides []side) bool {
	size, declared := b.expected()
	if !declared {
		size = sizeUndeclared
	}
	for _, m := range sides {
		if m.is != Unchanged && b.plan(m.corner, m.is, size).limited {
			return true
		}
	}
	return false
}

// atTheLimit asks of each pair of a raised and a lowered motor of which the
// declared size would take one past its end: that one stands at the end, its
// partner moves as the policy says.
func (b *branch) atTheLimit() []ask {
	split, key := b.p.Understeer, "understeer"
	if in := b.s.situation(); in == oversteering || in == oppositeLock {
		split, key = b.p.Oversteer, "oversteer"
	}
	if split == nil {
		return b.notAsked("the policy has no " + key)
	}
	expected, ok := b.expected()
	if !ok {
		return b.notAsked("the policy's shift_at declares no size for this step")
	}
	var all []ask
	for i := range max(len(split.Raise), len(split.Lower)) {
		all = append(all, b.pair(nth(split.Raise, i), nth(split.Lower, i), expected)...)
	}
	if len(all) == 0 {
		return b.notAsked(fmt.Sprintf("no motor comes to its limit in this step: each has room for %s within %s to %s; move the throttle nearer to it",
			share(expected), share(b.ends().Low), share(b.ends().High)))
	}
	return all
}

// nth returns the i-th corner, "" past the end of the list.
func nth(corners []law.Corner, i int) law.Corner {
	if i < len(corners) {
		return corners[i]
	}
	return ""
}

// pair plans a raised and a lowered motor that belong together, either of
// which may be missing; it returns nothing where neither comes to its limit.
func (b *branch) pair(raised, lowered law.Corner, expected float64) []ask {
	up, down := b.plan(raised, Raised, expected), b.plan(lowered, Lowered, expected)
	if !up.limited && !down.limited {
		return nil
	}
	if b.p.AtTheLimit == law.LimitMovePartner {
		up, down = up.doubled(down, expected), down.doubled(up, expected)
	}
	var all []ask
	for _, m := range []planned{up, down} {
		switch {
		case m.corner == "":
		case m.limited:
			all = append(all, asking(b.name(string(m.corner)+" stands at its limit"), func(b *branch) Result { return b.standsAt(m) }))
		default:
			name, shift := b.name(string(m.corner)+" as its partner is limited"), m.sign*m.size
			all = append(all, asking(name, func(b *branch) Result { return b.sized(name, m.corner, shift, math.Abs(shift)*b.p.ShiftAt.Within) }))
		}
	}
	return all
}

// planned is what one motor of a pair should do.
type planned struct {
	corner  law.Corner
	from    float64 // where it would stand with no shift
	sign    float64 // +1 raised, -1 lowered
	size    float64 // of its shift
	limited bool    // the shift would take it past its end
	end     float64 // that end
}

// plan works out what a motor should do by itself that moves by size in its sense from the
// throttle; an empty corner plans nothing.
func (b *branch) plan(c law.Corner, is Sense, size float64) planned {
	if c == "" {
		return planned{}
	}
	ends := b.ends()
	m := planned{corner: c, from: min(max(b.s.Throttle, ends.Low), ends.High), sign: 1, end: ends.High}
	if is == Lowered {
		m.sign, m.end = -1, ends.Low
	}
	return m.moving(size)
}

// moving returns m with the size of its shift, limited or not.
func (m planned) moving(size float64) planned {
	m.size = size
	m.limited = m.corner != "" && m.sign*(m.from+m.sign*size-m.end) > 0
	return m
}

// doubled returns m moving twice as far where its partner is limited; one that
// is limited itself stays so.
func (m planned) doubled(partner planned, expected float64) planned {
	if partner.limited {
		return m.moving(2 * expected)
	}
	return m
}

// standsAt judges whether a limited motor stands at its end.
func (b *branch) standsAt(m planned) Result {
	t := b.e.deadShift()
	limit := measure.Within(m.end, t)
	in := readings{e: b.e}
	w := in.wheel(m.corner, b.s)
	est := in.mean(w, b.s)
	r := found(b.name(string(m.corner)+" stands at its limit"), "mean of "+called(m.corner, w), est, in.err, limit, b.s)
	return r.explained(fmt.Sprintf("%s should stand at its limit of %s, for the declared shift of %s would take it past; it stands at %s ± %s",
		called(m.corner, w), share(m.end), share(m.size), share(est.Value), share(est.Expanded())),
		remedy(est, limit, b.s.To-b.s.From, percent, " %"))
}
