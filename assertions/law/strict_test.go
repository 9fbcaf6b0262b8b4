package law_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"

	"hilrig/assertions/law"
)

// nothing is a tolerance so small that it is none.
const nothing = 1e-12

// strictPolicy draws a policy that declares every word and no tolerance.
func strictPolicy(r *rand.Rand) *law.Policy {
	from := span(r, 0, 5*deg)
	p := &law.Policy{
		Demand: &law.Demand{Wheelbase: span(r, 0.2, 0.6), UndersteerGradient: span(r, 0.001, 0.006), LateralLimit: span(r, 4, 20),
			YawLimit: span(r, 2, 5), SpeedFrom: law.SpeedFrom(r.IntN(7) + 1)},
		TurnFrom: law.TurnFrom(r.IntN(3) + 1), OppositeLock: law.OppositeLock(r.IntN(4) + 1), OppositeLockShare: span(r, 0.2, 0.8),
		Understeer: strictSplit(r), Oversteer: strictSplit(r), DeadShift: nothing, ThrottleCurve: law.ThrottleCurveNone,
		ShiftAt:  &law.ShiftAt{Error: span(r, 20*deg, 90*deg), Gain: span(r, 0.2, 1), Is: span(r, 0.02, 0.3), Grows: law.GrowthProportional},
		Straight: &law.Straight{Steer: &law.Fade{From: from, Full: from}, Demand: &law.Fade{From: from, Full: from}},
		Cap:      &law.Cap{Of: span(r, 0.5, 0.95), SteerAbove: span(r, 0, 5*deg), Cut: law.CapCut(r.IntN(2) + 1)},
		Floor:    new(float64), AtTheLimit: law.AtTheLimit(r.IntN(4) + 1), Braking: law.BrakingNoShift, Reverse: law.Reverse(r.IntN(3) + 1),
	}
	*p.Floor = span(r, 0, 0.2)
	rolls := span(r, 0.2, 1)
	p.Standstill = &law.Fade{From: rolls, Full: rolls}
	if maybe(r) {
		p.GainSteps = []float64{0, 0.5, 1}
	}
	return p
}

func strictSplit(r *rand.Rand) *law.Split {
	s := drawnSplit(r)
	s.Varies = false
	return s
}

// open says whether what a strict policy asks for is open at a point all the same: on
// a threshold, or in what no word of it decides.
func open(p *law.Policy, x *point, scale law.Scale) bool {
	l := p.Straight.Steer.From
	near := func(a, b, by float64) bool { return math.Abs(math.Abs(a)-b) <= by }
	speed := (&pointBoard{p: p, speed: p.Demand.SpeedFrom}).speedOf(x)
	d := p.Demand.YawRate(speed, x.steer)
	switch {
	case near(x.steer, l, 0.0041), near(x.steer, p.Cap.SteerAbove, 0.0041), math.Abs(x.steer) < 0.0041, near(d, l, 1e-9), math.Abs(x.yaw) < 1e-9:
		return true
	case near(speed, p.Standstill.From, 0.21*p.Standstill.From), x.throttle <= 0.02, near(x.throttle, *p.Floor, 2*scale.Step):
		return true
	case speed < 0: // which side is the outside is open, and which wheel the slowest
		return true
	case math.Abs(x.steer) <= p.Cap.SteerAbove && p.AtTheLimit != law.LimitCap: // the end of the range is no cap
		return true
	case x.throttle < *p.Floor: // no floor is declared to hold, and a motor may stop anywhere down to idle
		return true
	case p.ShiftAt.Is*math.Abs(d-x.yaw)/p.ShiftAt.Error*max(x.gain, 1)/p.ShiftAt.Gain > 1: // it may be cut to the whole range before a share is taken
		return true
	case len(p.GainSteps) > 0 && (near(x.gain, 0.25, 0.051) || near(x.gain, 0.75, 0.051)):
		return true
	}
	for _, w := range x.wheels {
		if x.hasWheels && w < 0 {
			return true
		}
	}
	return false
}

// Where the words leave nothing open and there is no tolerance, the law says one command.
func TestLawIsOneCommandWithoutTolerances(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		seed, clear := rapid.Uint64().Draw(t, "seed"), 0
		for k := range uint64(perSeed) {
			r := rand.New(rand.NewPCG(seed, k))
			p, scale := strictPolicy(r), law.Scale{Step: 0.001}
			l := law.New(p, scale)
			x := drawnPoint(r, p, scale)
			if open(p, &x, scale) {
				continue
			}
			clear++
			in := exactly(&x, l)
			a := l.At(&in)
			for i, c := range a.Commands {
				// Just at its limit a motor may be limited or not.
				if c.Width() > 2*scale.Step+rounding && !atItsLimit(l, p, &in, scale) {
					t.Fatalf("draw %d: motor %d has %+v in %+v\n%+v\n%s", k, i, c, a, x, drawn(p, &pointBoard{}, &x, &in))
				}
			}
		}
		if clear < perSeed/10 {
			t.Fatalf("only %d of %d draws leave nothing open", clear, perSeed)
		}
	})
}

// atItsLimit says whether what is asked of some motor brings it so near its limit that it may
// count as there or not; or whether it is open whose partner is limited: where some of one sense are and
// some are not, and, if a limited motor does not move, where some of both senses are.
func atItsLimit(l *law.Law, p *law.Policy, in *law.Inputs, scale law.Scale) bool {
	var limited, all [2]int // of those raised, of those lowered
	for i, shift := range l.Wants(in).Shifts {
		u, k := in.Unshifted[i].Low, 0
		if p.Cap.Cut == law.CapBeforeShift {
			u = min(u, p.Cap.Of)
		}
		if shift < 0 {
			k = 1
		}
		to := u + shift
		if math.Abs(to-p.Cap.Of) <= 1.01*scale.Step || math.Abs(to-*p.Floor) <= 1.01*scale.Step {
			return true
		}
		if shift != 0 {
			all[k]++
		}
		if shift > 0 && to > p.Cap.Of || shift < 0 && to < *p.Floor {
			limited[k]++
		}
	}
	switch p.AtTheLimit {
	case law.LimitPartnerOnly:
		if limited[0] > 0 && limited[1] > 0 {
			return true
		}
		fallthrough
	case law.LimitMovePartner:
		return limited[0] > 0 && limited[0] < all[0] || limited[1] > 0 && limited[1] < all[1]
	}
	return false
}

// breaks are firmware that does not keep one key of its policy, by half as much again: it keeps another policy.
var breaks = []struct {
	name string
	with func(p *law.Policy) // what the policy declares besides
	to   func(q *law.Policy) // what the firmware keeps instead
	odd  func(b *pointBoard) // what the firmware does besides
}{
	{name: "demand.wheelbase", to: func(q *law.Policy) { q.Demand.Wheelbase *= 1.5 }},
	{name: "demand.understeer_gradient", to: func(q *law.Policy) { q.Demand.UndersteerGradient *= 1.5 }},
	{name: "demand.lateral_limit", to: func(q *law.Policy) { q.Demand.LateralLimit *= 1.5 }},
	{name: "demand.yaw_limit", to: func(q *law.Policy) { q.Demand.YawLimit *= 1.5 }},
	{name: "demand.steer_rate", with: func(p *law.Policy) { p.Demand.SteerRate = 0.02 }, to: func(q *law.Policy) { q.Demand.SteerRate *= 1.5 }},
	{name: "demand.speed_from", to: func(q *law.Policy) { q.Demand.SpeedFrom = q.Demand.SpeedFrom%7 + 1 }},
	{name: "demand.within", with: func(p *law.Policy) { p.Demand.Within = 0.05 }, odd: func(b *pointBoard) { b.demand = 1.075 }},
	{name: "demand.within, less", with: func(p *law.Policy) { p.Demand.Within = 0.05 }, odd: func(b *pointBoard) { b.demand = 0.925 }},
	{name: "turn_from", to: func(q *law.Policy) { q.TurnFrom = q.TurnFrom%3 + 1 }},
	{name: "opposite_lock", to: func(q *law.Policy) { q.OppositeLock = q.OppositeLock%4 + 1 }},
	{name: "opposite_lock_share", to: func(q *law.Policy) { q.OppositeLockShare *= 1.5 }},
	{name: "understeer", to: func(q *law.Policy) { q.Understeer = &law.Split{Raise: q.Understeer.Lower, Lower: q.Understeer.Raise} }},
	{name: "oversteer", to: func(q *law.Policy) { q.Oversteer = &law.Split{Raise: q.Oversteer.Lower, Lower: q.Oversteer.Raise} }},
	{name: "understeer.front", to: func(q *law.Policy) { q.Understeer.Front = 1.5 * or(q.Understeer.Front, 1) }},
	{name: "oversteer.rear", to: func(q *law.Policy) { q.Oversteer.Rear = 1.5 * or(q.Oversteer.Rear, 1) }},
	{name: "shift_at.error", to: func(q *law.Policy) { q.ShiftAt.Error *= 1.5 }},
	{name: "shift_at.gain", to: func(q *law.Policy) { q.ShiftAt.Gain *= 1.5 }},
	{name: "shift_at.is", to: func(q *law.Policy) { q.ShiftAt.Is *= 1.5 }},
	{name: "shift_at.within", with: func(p *law.Policy) { p.ShiftAt.Within = 0.1 }, odd: func(b *pointBoard) { b.size = 1.15 }},
	{name: "shift_at.within, less", with: func(p *law.Policy) { p.ShiftAt.Within = 0.1 }, odd: func(b *pointBoard) { b.size = 0.85 }},
	{name: "shift_at.most, saturating", with: func(p *law.Policy) { p.ShiftAt.Grows, p.ShiftAt.Most = law.GrowthSaturating, 0.2 },
		to: func(q *law.Policy) { q.ShiftAt.Most *= 1.5 }, odd: func(b *pointBoard) { b.feedForward = 2 }},
	{name: "shift_at.most, integrating", with: func(p *law.Policy) { p.ShiftAt.Grows, p.ShiftAt.Most = law.GrowthIntegrating, 0.2 },
		to: func(q *law.Policy) { q.ShiftAt.Most *= 1.5 }, odd: func(b *pointBoard) { b.gathered = 1 }},
	{name: "shift_at.grows", with: func(p *law.Policy) { p.ShiftAt.Most = 0.2 }, to: func(q *law.Policy) { q.ShiftAt.Grows = law.GrowthSaturating }},
	{name: "shares vary", with: func(p *law.Policy) { p.Understeer.Varies = true }, to: func(q *law.Policy) { q.ShiftAt.Is *= 1.5 }, odd: func(b *pointBoard) { b.slip[0] = 1 }},
	{name: "dead_shift", with: func(p *law.Policy) { p.DeadShift = 0.02 }, odd: func(b *pointBoard) { b.rest = [4]float64{0.03, 0.03, -0.03, -0.03} }},
	{name: "dead_shift, ignored", with: func(p *law.Policy) { p.DeadShift = 0.02 }, to: func(q *law.Policy) { q.DeadShift *= 1.5 }, odd: func(b *pointBoard) { b.ignoresSmall, b.rest = true, [4]float64{} }},
	{name: "dead_band", with: func(p *law.Policy) { p.DeadBand = new(0.2) }, to: func(q *law.Policy) { q.DeadBand = new(0.3) }},
	{name: "dead_band, less", with: func(p *law.Policy) { p.DeadBand = new(0.2) }, to: func(q *law.Policy) { q.DeadBand = new(0.2 / 1.5) }},
	{name: "straight.steer", to: func(q *law.Policy) { q.Straight.Steer = &law.Fade{From: 12 * deg, Full: 12 * deg} }},
	{name: "straight.demand", to: func(q *law.Policy) { q.Straight.Demand = &law.Fade{From: 12 * deg, Full: 12 * deg} }},
	{name: "straight left out", to: func(q *law.Policy) { q.Straight = nil }},
	{name: "standstill", to: func(q *law.Policy) { q.Standstill.From *= 1.5; q.Standstill.Full *= 1.5 }},
	{name: "standstill left out", to: func(q *law.Policy) { q.Standstill = nil }},
	{name: "gain_steps", with: func(p *law.Policy) { p.GainSteps = []float64{0, 0.5, 1} }, to: func(q *law.Policy) { q.GainSteps = []float64{0, 0.75, 1} }},
	{name: "gain_steps left out", with: func(p *law.Policy) { p.GainSteps = []float64{0, 0.5, 1} }, to: func(q *law.Policy) { q.GainSteps = nil }},
	{name: "cap.of", to: func(q *law.Policy) { q.Cap.Of *= 1.5 }},
	{name: "cap.steer_above", to: func(q *law.Policy) { q.Cap.SteerAbove = 1.5*q.Cap.SteerAbove + 1*deg }},
	{name: "cap.cut", to: func(q *law.Policy) { q.Cap.Cut = q.Cap.Cut%2 + 1 }},
	{name: "floor", to: func(q *law.Policy) { *q.Floor /= 1.5 }},
	{name: "at_the_limit", to: func(q *law.Policy) { q.AtTheLimit = q.AtTheLimit%4 + 1 }},
	{name: "at_the_cap", with: func(p *law.Policy) { p.AtTheCap = law.LimitMovePartner }, to: func(q *law.Policy) { q.AtTheCap = law.LimitPartnerOnly }},
	{name: "at_the_floor", with: func(p *law.Policy) { p.AtTheFloor = law.LimitScale }, to: func(q *law.Policy) { q.AtTheFloor = law.LimitCap }},
	{name: "traction_control", with: func(p *law.Policy) { p.TractionControl = new(0.2) }, to: func(q *law.Policy) { *q.TractionControl /= 1.5 }},
	{name: "traction_control left out", to: func(q *law.Policy) { q.TractionControl = new(0.2) }},
	{name: "braking", odd: func(b *pointBoard) { b.shiftsBraking, b.restsAtIdle = true, false }},
	{name: "reverse", with: func(p *law.Policy) { p.Reverse = law.ReverseNoShift }, to: func(q *law.Policy) { q.Reverse = law.ReverseAsForward }},
	{name: "reverse, mirrored", with: func(p *law.Policy) { p.Reverse, p.TurnFrom = law.ReverseMirrored, law.TurnFromSteer }, to: func(q *law.Policy) { q.Reverse = law.ReverseAsForward }},
	{name: "motors_equal_within", with: func(p *law.Policy) { p.MotorsEqualWithin = new(0.02) }, odd: func(b *pointBoard) { b.apart = [4]float64{0.03, 0, 0, -0.03} }},
	{name: "resolution", with: func(p *law.Policy) { p.Resolution = new(0.01) }, odd: func(b *pointBoard) { b.off = [4]float64{1.5, 1.5, -1.5, -1.5} }},
	{name: "sum_cap", with: func(p *law.Policy) { p.SumCap = new(2.0) }, to: func(q *law.Policy) { q.SumCap = new(2.0 / 1.5) }},
	{name: "sum_cap, more", with: func(p *law.Policy) { p.SumCap = new(2.0) }, to: func(q *law.Policy) { q.SumCap = new(3.0) }},
	{name: "sum", with: func(p *law.Policy) {
		p.SumKept, p.Understeer, p.Oversteer = true, &law.Split{Raise: law.Places[:1], Lower: law.Places[1:2], Front: 1, Rear: 1}, &law.Split{Raise: law.Places[2:3], Lower: law.Places[3:], Front: 1, Rear: 1}
		p.ShiftAt.Within = 0.1
	}, odd: func(b *pointBoard) { b.size, b.uneven = 1, 0.1 }},
}

func or(x, otherwise float64) float64 {
	if x == 0 {
		return otherwise
	}
	return x
}

// The law has the power to find each key broken: some drawn inputs show it, and none where it is kept.
func TestLawFindsEachKeyBroken(t *testing.T) {
	for _, tt := range breaks {
		t.Run(tt.name, func(t *testing.T) {
			shown, asked := 0, 0
			for k := range uint64(8_000) {
				r := rand.New(rand.NewPCG(7, k))
				p := strictPolicy(r)
				if tt.with != nil {
					tt.with(p)
				}
				q := clone(p)
				if tt.to != nil {
					tt.to(q)
				}
				scale := law.Scale{Lowest: -1, Step: 0.001}
				l := law.New(p, scale)
				b := newPointBoard(r, q, scale)
				if tt.odd != nil {
					tt.odd(b)
				}
				x := drawnPoint(r, p, scale)
				in := exactly(&x, l)
				a := l.At(&in)
				shifted, _, known := b.command(&x)
				if !known {
					continue
				}
				asked++
				if !holdsAll(&a, shifted) {
					shown++
				}
			}
			t.Logf("%d of %d inputs show it", shown, asked)
			assert.Greater(t, shown, asked/2000, "too few inputs show it")
		})
	}
}

// holdsAll says whether the law holds four commands, each and together.
func holdsAll(a *law.Answer, commands [4]float64) bool {
	for i, c := range a.Commands {
		if !holds(c, commands[i]) {
			return false
		}
	}
	return holds(a.Sum, commands[0]+commands[1]+commands[2]+commands[3])
}

// clone copies a policy with what it points to.
func clone(p *law.Policy) *law.Policy {
	q := *p
	copyOf(&q.Demand)
	copyOf(&q.Understeer)
	copyOf(&q.Oversteer)
	copyOf(&q.ShiftAt)
	copyOf(&q.Straight)
	if q.Straight != nil {
		copyOf(&q.Straight.Steer)
		copyOf(&q.Straight.Demand)
	}
	copyOf(&q.Standstill)
	copyOf(&q.Cap)
	for _, x := range []**float64{&q.Floor, &q.DeadBand, &q.SumCap, &q.TractionControl, &q.MotorsEqualWithin, &q.Resolution} {
		copyOf(x)
	}
	return &q
}

func copyOf[T any](p **T) {
	if *p != nil {
		x := **p
		*p = &x
	}
}
