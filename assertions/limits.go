package assertions

import (
	"fmt"
	"math"

	"hilrig/assertions/law"
	"hilrig/assertions/measure"
	"hilrig/plant"
)

// cap judges whether every command keeps the policy's cap.
func (b *branch) cap() []Result {
	if !(math.Abs(b.s.Steer) > b.p.Cap.SteerAbove) {
		return []Result{b.notAsked(fmt.Sprintf("the cap holds above %s deg of steering; this step has %s deg", degrees(b.p.Cap.SteerAbove), degrees(b.s.Steer)))}
	}
	return b.everyMotor(AtMost(b.p.Cap.Of), "at most "+share(b.p.Cap.Of))
}

// floor judges whether every command keeps the policy's floor.
func (b *branch) floor() []Result {
	floor := *b.p.Floor
	if b.s.Throttle < floor {
		return []Result{b.notAsked(fmt.Sprintf("the floor of %s holds with the throttle at or above it; this step has %s", share(floor), share(b.s.Throttle)))}
	}
	return b.everyMotor(AtLeast(floor), "at least "+share(floor))
}

// everyMotor holds every frame of all four motors against limit.
func (b *branch) everyMotor(limit Limit, words string) []Result {
	return each(b.sides(nil), func(m side) Result {
		return b.e.keeps(b.name(string(m.corner)+" "+words), m.corner, limit, b.s)
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

// limited says whether a motor of the split is at the end of its range: by the
// declared size where there is one, else by where the motors stand.
func (b *branch) limited(sides []side) bool {
	from := b.base
	size, declared := b.expected()
	if !declared {
		from, size = b.s, b.e.deadShift()
	}
	for _, m := range sides {
		if m.is == Unchanged {
			continue
		}
		if p, err := b.plan(m.corner, m.is, from, size); err == nil && p.limited {
			return true
		}
	}
	return false
}

// atTheLimit judges each pair of a raised and a lowered motor of which the
// declared size would take one past its end: that one stands at the end, its
// partner moves as the policy says.
func (b *branch) atTheLimit() []Result {
	split, key := b.p.Understeer, "understeer"
	if in := b.s.situation(); in == oversteering || in == oppositeLock {
		split, key = b.p.Oversteer, "oversteer"
	}
	if split == nil {
		return []Result{b.notAsked("the policy has no " + key)}
	}
	expected, ok := b.expected()
	if !ok {
		return []Result{b.notAsked("the policy's shift_at declares no size for this step")}
	}
	var results []Result
	for i := range max(len(split.Raise), len(split.Lower)) {
		results = append(results, b.pair(nth(split.Raise, i), nth(split.Lower, i), expected)...)
	}
	if len(results) == 0 {
		results = b.unjudged(b.s.undecided("no motor comes to its limit in this step: each has room for %s within %s to %s; move the throttle nearer to it",
			share(expected), share(b.ends().Low), share(b.ends().High)))
	}
	return results
}

// nth returns the i-th corner, "" past the end of the list.
func nth(corners []law.Corner, i int) law.Corner {
	if i < len(corners) {
		return corners[i]
	}
	return ""
}

// pair judges a raised and a lowered motor that belong together, either of
// which may be missing; it returns nothing where neither comes to its limit.
func (b *branch) pair(raised, lowered law.Corner, expected float64) []Result {
	up, err := b.plan(raised, Raised, b.base, expected)
	if err != nil {
		return []Result{unjudged(b.name(string(raised)), err)}
	}
	down, err := b.plan(lowered, Lowered, b.base, expected)
	if err != nil {
		return []Result{unjudged(b.name(string(lowered)), err)}
	}
	if !up.limited && !down.limited {
		return nil
	}
	if b.p.AtTheLimit == law.LimitMovePartner {
		up, down = up.doubled(down, expected), down.doubled(up, expected)
	}
	var results []Result
	for _, m := range []planned{up, down} {
		switch {
		case m.corner == "":
		case m.limited:
			results = append(results, b.standsAt(m))
		default:
			shift := m.sign * m.size
			results = append(results, b.sized(b.name(string(m.corner)+" as its partner is limited"), m.corner, shift, math.Abs(shift)*b.p.ShiftAt.Within))
		}
	}
	return results
}

// planned is what one motor of a pair should do.
type planned struct {
	corner  law.Corner
	wheel   plant.Wheel
	from    measure.Estimate // where it stood
	sign    float64          // +1 raised, -1 lowered
	size    float64          // of its shift
	limited bool             // the shift would take it past its end
	end     float64          // that end
}

// plan works out what a motor should do by itself that moves by size in its sense from where
// it stood in a step; an empty corner plans nothing.
func (b *branch) plan(c law.Corner, is Sense, from *Step, size float64) (planned, error) {
	if c == "" {
		return planned{}, nil
	}
	in := readings{e: b.e}
	w := in.wheel(c, b.s)
	m := planned{corner: c, wheel: w, from: in.mean(w, from), sign: 1, end: b.ends().High}
	if is == Lowered {
		m.sign, m.end = -1, b.ends().Low
	}
	return m.moving(size), in.err
}

// moving returns m with the size of its shift, limited or not.
func (m planned) moving(size float64) planned {
	m.size = size
	m.limited = m.corner != "" && m.sign*(m.from.Value+m.sign*size-m.end) > 0
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
	est, err := b.e.mean(m.wheel, b.s)
	r := found(b.name(string(m.corner)+" stands at its limit"), "mean of "+called(m.corner, m.wheel), est, err, limit, b.s)
	return r.explained(fmt.Sprintf("%s should stand at its limit of %s, for the declared shift of %s would take it past; it stands at %s ± %s",
		called(m.corner, m.wheel), share(m.end), share(m.size), share(est.Value), share(est.Expanded())),
		remedy(est, limit, b.s.To-b.s.From, percent, " %"))
}
