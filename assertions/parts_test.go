package assertions_test

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"

	"hilrig/assertions"
	"hilrig/assertions/law"
)

// sizedPolicy has every part that says something of a shift's size, the shift in proportion to the yaw error.
func sizedPolicy() *law.Policy {
	all := func(front, rear law.Corner) []law.Corner { return []law.Corner{front, rear} }
	outside, inside := all(law.OutsideFront, law.OutsideRear), all(law.InsideFront, law.InsideRear)
	floor := 0.0
	return &law.Policy{
		Demand: &law.Demand{Wheelbase: 0.33, UndersteerGradient: 0.0028, SteerRate: 0.02}, TurnFrom: law.TurnFromSteer, ThrottleCurve: law.ThrottleCurveNone,
		OppositeLock: law.OppositeLockShare, OppositeLockShare: 0.5,
		Understeer: &law.Split{Raise: outside, Lower: inside, Front: 0.4, Rear: 0.8}, Oversteer: &law.Split{Raise: inside, Lower: outside, Front: 0.6, Rear: 0.9},
		ShiftAt:  &law.ShiftAt{Error: 1, Gain: 0.5, Is: 0.1, Within: 0.1, DerivativeTime: 0.02},
		Straight: &law.Straight{Steer: &law.Fade{From: 0.02, Full: 0.05}, Demand: &law.Fade{From: 0.1, Full: 0.2}}, GainSteps: []float64{0, 0.5, 1},
		Cap: &law.Cap{Of: 0.9}, Floor: &floor, AtTheLimit: law.LimitMovePartner, AtTheFloor: law.LimitScale,
		Standstill: &law.Fade{From: 0.5, Full: 1}, Reverse: law.ReverseMirrored, GainLost: &law.Loss{Then: law.LossValue, Value: 0.5}, YawLost: &law.Loss{Then: law.LossIgnored},
	}
}

// growingPolicy is the same with a shift that grows so; 0: none is declared.
func growingPolicy(grows law.Growth) *law.Policy {
	p := sizedPolicy()
	if p.ShiftAt.Grows, p.ShiftAt.Most = grows, 0.2; grows == 0 {
		p.ShiftAt = nil
	}
	return p
}

// partNames lists the parts of a policy that are not asked as "key: part".
func partNames(p *law.Policy) (names []string) {
	for _, x := range assertions.PartsNotAsked(p) {
		names = append(names, x.Key+": "+x.Of)
	}
	return names
}

func TestPartsThatSayTheSizeOfAShiftAreNotAskedWhereItGrowsOtherwise(t *testing.T) {
	shares := []string{"opposite_lock: share", "understeer: front", "understeer: rear", "oversteer: front", "oversteer: rear"}
	size := []string{"shift_at: gain", "shift_at: is", "shift_at: within"}
	rest := []string{"straight: full_from", "straight: demand_full_from", "gain_steps: the steps above 0 %", "at_the_limit: move_partner", "at_the_floor: scale",
		"standstill: full_from", "reverse: mirrored", "gain_lost: value"}
	join := func(all ...[]string) (out []string) {
		for _, x := range all {
			out = append(out, x...)
		}
		return out
	}
	assert.Empty(t, partNames(sizedPolicy()), "in proportion")
	assert.Equal(t, join(shares, size, rest), partNames(growingPolicy(law.GrowthSaturating)))
	without := slices.DeleteFunc(slices.Clone(rest), func(x string) bool { return x == "reverse: mirrored" }) // which the shares of the axles tell
	assert.Equal(t, join([]string{"demand: steer_rate"}, shares, size, []string{"shift_at: derivative_time"}, without, []string{"yaw_lost: ignored"}), partNames(growingPolicy(law.GrowthIntegrating)))
	unbound := growingPolicy(law.GrowthIntegrating)
	unbound.ShiftAt.Most = 0
	assert.Contains(t, partNames(unbound), "reverse: mirrored")
	assert.Equal(t, join([]string{"demand: steer_rate"}, shares, rest, []string{"yaw_lost: ignored"}), partNames(growingPolicy(0)))
}

func TestPartsSayWhatIsAskedAllTheSame(t *testing.T) {
	why := func(p *law.Policy, of string) string {
		parts := assertions.PartsNotAsked(p)
		return parts[slices.IndexFunc(parts, func(x assertions.Part) bool { return x.Of == of })].Why
	}
	p := growingPolicy(law.GrowthIntegrating)
	assert.Equal(t, "how far the other motors go then: of a shift that grows with time no size is asked but its bound", why(p, "scale"))
	p.AtTheLimit, p.AtTheFloor = law.LimitScale, 0
	assert.NotContains(t, why(p, "scale"), "sum")
	p.SumKept = true
	assert.Equal(t, "how far the other motors go then: of a shift that grows with time no size is asked but its bound, and that the sum is kept", why(p, "scale"))
	const ratio = ", and of front and rear only their ratio"
	assert.Equal(t, "of a shift that grows with time no size is asked but its bound"+ratio, why(p, "front"))
	assert.NotContains(t, why(growingPolicy(law.GrowthSaturating), "front"), ratio)
	p.ShiftAt.Most = 0
	assert.NotContains(t, why(p, "front"), ratio)
	assert.Equal(t, "of a shift that grows with time no size is asked, only that there is a shift where this would surely be one", why(p, "is"))
	p.Demand = nil
	assert.Equal(t, "of a shift that grows with time no size is asked", why(p, "is"), "without a demand nothing is")
}

func TestPartsThatSayNothingOfASizeAreAsked(t *testing.T) {
	for name, change := range map[string]func(p *law.Policy){
		"opposite_lock: share":            func(p *law.Policy) { p.OppositeLock = law.OppositeLockOversteer },
		"understeer: front":               func(p *law.Policy) { p.Understeer.Front = 0 },
		"oversteer: rear":                 func(p *law.Policy) { p.Oversteer.Rear = 0 },
		"straight: full_from":             func(p *law.Policy) { p.Straight.Steer.Full = p.Straight.Steer.From },
		"gain_steps: the steps above 0 %": func(p *law.Policy) { p.GainSteps = []float64{0, 1} },
		"at_the_limit: move_partner":      func(p *law.Policy) { p.AtTheCap = law.LimitCap },
		"standstill: full_from":           func(p *law.Policy) { p.Standstill.Full = p.Standstill.From },
		"reverse: mirrored":               func(p *law.Policy) { p.Oversteer.Raise = p.Oversteer.Raise[:1] },
		"gain_lost: value":                func(p *law.Policy) { p.GainLost.Value = 0.1 }, // the nearest step of the trim is 0 %
		"yaw_lost: ignored":               func(p *law.Policy) { p.YawLost.Then = law.LossNoShift },
	} {
		t.Run(name, func(t *testing.T) {
			p := growingPolicy(law.GrowthIntegrating)
			if name == "reverse: mirrored" {
				p.ShiftAt.Most = 0
			}
			assert.Contains(t, partNames(p), name)
			change(p)
			assert.NotContains(t, partNames(p), name)
		})
	}
}

// leastAsked returns the farthest that the law surely has some motor go there.
func leastAsked(a *law.Answer) (least float64) {
	for _, s := range a.Shifts {
		least = max(least, s.Low, -s.High)
	}
	return least
}

// TestTheLawAsksNoSizeOfWhatIsNotAsked holds what is said of parts against the law: in proportion each part decides what is commanded somewhere,
// and of a shift that grows otherwise none has a motor go any farther than what counts as a shift.
func TestTheLawAsksNoSizeOfWhatIsNotAsked(t *testing.T) {
	changes := map[string]func(p *law.Policy){
		"opposite_lock: share":            func(p *law.Policy) { p.OppositeLockShare = 0.9 },
		"understeer: front":               func(p *law.Policy) { p.Understeer.Front = 0.7 },
		"oversteer: rear":                 func(p *law.Policy) { p.Oversteer.Rear = 0.4 },
		"shift_at: gain":                  func(p *law.Policy) { p.ShiftAt.Gain = 0.8 },
		"shift_at: is":                    func(p *law.Policy) { p.ShiftAt.Is = 0.15 },
		"shift_at: within":                func(p *law.Policy) { p.ShiftAt.Within = 0.02 },
		"straight: full_from":             func(p *law.Policy) { p.Straight.Steer.Full = 0.2 },
		"straight: demand_full_from":      func(p *law.Policy) { p.Straight.Demand.Full = 3 },
		"gain_steps: the steps above 0 %": func(p *law.Policy) { p.GainSteps[1] = 0.7 },
		"at_the_limit: move_partner":      func(p *law.Policy) { p.AtTheLimit = law.LimitScale },
		"at_the_floor: scale":             func(p *law.Policy) { p.AtTheFloor = law.LimitCap },
		"standstill: full_from":           func(p *law.Policy) { p.Standstill.Full = 4 },
		"reverse: mirrored":               func(p *law.Policy) { p.Reverse = law.ReverseAsForward },
	}
	for name, change := range changes {
		t.Run(name, func(t *testing.T) {
			is, would := sizedPolicy(), sizedPolicy()
			change(would)
			assert.True(t, toldApart(is, would), "in proportion")
			for _, grows := range []law.Growth{law.GrowthSaturating, law.GrowthIntegrating} {
				p := growingPolicy(grows)
				if name == "reverse: mirrored" {
					p.ShiftAt.Most = 0
				}
				assert.Contains(t, partNames(p), name)
				change(p)
				assert.LessOrEqual(t, farthestAsked(p), p.DeadShiftFor(0), "%v", grows)
			}
		})
	}
}

// points are moments of a car that drives somehow, forwards and backwards.
func points() (all []law.Point) {
	r := rand.New(rand.NewPCG(1, 2))
	for range 3000 {
		x := law.Point{Steer: (2*r.Float64() - 1) * 0.4, Speed: 6*r.Float64() - 1.5, Throttle: r.Float64(), Gain: r.Float64()}
		x.YawRate = x.Speed * x.Steer / 0.38 * (3*r.Float64() - 0.5)
		all = append(all, x)
	}
	return all
}

// toldApart says whether some command that one law allows is one that the other does not.
func toldApart(a, b *law.Policy) bool {
	one, other := law.New(a, law.Scale{}), law.New(b, law.Scale{})
	for _, x := range points() {
		in := one.Inputs(x, nil)
		p, q := one.At(&in), other.At(&in)
		for i := range p.Commands {
			if math.Abs(p.Commands[i].Low-q.Commands[i].Low)+math.Abs(p.Commands[i].High-q.Commands[i].High) > 1e-9 {
				return true
			}
		}
	}
	return false
}

// farthestAsked returns the farthest that a policy surely has a motor go with nothing of a limit in its way.
func farthestAsked(p *law.Policy) (most float64) {
	l := law.New(p, law.Scale{})
	for _, x := range points() {
		in := l.Inputs(x, nil)
		a := l.At(&in)
		most = max(most, leastAsked(&a))
	}
	return most
}
