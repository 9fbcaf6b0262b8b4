package law_test

import (
	"encoding/json"
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"hilrig/assertions/law"
	"hilrig/assertions/measure"
	"hilrig/plant"
	"hilrig/rig/signal"
)

// rounding is what sums in another order may differ by.
const rounding = 1e-9

func holds(i measure.Interval, x float64) bool { return x >= i.Low-rounding && x <= i.High+rounding }

// perSeed is how many drawn boards, policies and inputs a seed stands for.
const perSeed = 300

// Whatever a board that keeps its policy commands lies in what the law says.
func TestLawHoldsEveryBoardThatKeepsThePolicy(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		seed := rapid.Uint64().Draw(t, "seed")
		for k := range uint64(perSeed) {
			if wrong := outside(seed, k); wrong != "" {
				t.Fatalf("draw %d: %s", k, wrong)
			}
		}
	})
}

// outside draws a policy, a board that keeps it and inputs, and says what of the board's
// commands the law does not hold; "" where it holds all.
func outside(seed, k uint64) string {
	r := rand.New(rand.NewPCG(seed, k))
	p := drawnPolicy(r)
	scale := law.Scale{Lowest: -float64(r.IntN(2)), Step: 0.005 * r.Float64()}
	l := law.New(p, scale)
	b := newPointBoard(r, p, scale)
	if b.noSign = maybe(r) && p.OppositeLock != 0; b.noSign {
		l = l.EitherSign()
	}
	for range 4 {
		x := drawnPoint(r, p, scale)
		in := around(r, &x, l)
		a := l.At(&in)
		shifted, plain, known := b.command(&x)
		if !known && a.Missing == "" {
			return fmt.Sprintf("the policy does not say, and the law does: %+v\n%s", a, drawn(p, b, &x, &in))
		}
		if known && !holds(a.Sum, shifted[0]+shifted[1]+shifted[2]+shifted[3]) {
			return fmt.Sprintf("commanded %v together; the law has %+v\n%s", shifted, a, drawn(p, b, &x, &in))
		}
		for i, w := range plant.Wheels {
			switch shift := shifted[i] - plain[i]; {
			case !holds(a.Commands[i], shifted[i]):
				return fmt.Sprintf("%v commanded %v; the law has %+v\n%s", w, shifted[i], a, drawn(p, b, &x, &in))
			case known && !holds(a.Shifts[i], shift):
				return fmt.Sprintf("%v shifted by %v from %v; the law has %+v\n%s", w, shift, plain[i], a, drawn(p, b, &x, &in))
			}
		}
	}
	return ""
}

// drawn says what was drawn.
func drawn(p *law.Policy, b *pointBoard, x *point, in *law.Inputs) string {
	words, _ := json.MarshalIndent(p, "", " ")
	return fmt.Sprintf("%+v\n%+v\n%+v\n%s", *x, *in, *b, words)
}

func TestANilPolicySaysNothing(t *testing.T) {
	l := law.New(nil, law.Scale{Step: 0.001})
	a := l.At(&law.Inputs{Gain: at(1), Throttle: at(0.5), Speed: at(3)})
	assert.Equal(t, "understeer", a.Missing)
	assert.Equal(t, measure.Interval{Low: 0, High: 1}, a.Commands[0])
}

// bramble is the demo car's policy.
func bramble() *law.Policy {
	return &law.Policy{
		Demand:       &law.Demand{Wheelbase: 0.33, UndersteerGradient: 0.0028, SteerLinear: true, Within: 0.05},
		TurnFrom:     law.TurnFromSteer,
		OppositeLock: law.OppositeLockOversteer,
		Understeer:   &law.Split{Raise: []law.Corner{law.OutsideRear}, Lower: []law.Corner{law.InsideFront}},
		Oversteer:    &law.Split{Raise: []law.Corner{law.OutsideFront}, Lower: []law.Corner{law.OutsideRear}},
		ShiftAt:      &law.ShiftAt{Error: 60 * deg, Gain: 0.5, Is: 0.08, Within: 0.1},
		DeadShift:    0.01, DeadBand: new(float64), SumKept: true, Cap: &law.Cap{Of: 0.92, SteerAbove: 2 * deg}, Floor: new(float64),
		AtTheLimit: law.LimitCap, Standstill: &law.Fade{From: 0.5, Full: 0.5}, Reverse: law.ReverseNoShift,
	}
}

func at(x float64) measure.Interval { return measure.Interval{Low: x, High: x} }

func TestAtAllocatesNothing(t *testing.T) {
	l := law.New(bramble(), law.Scale{Step: 0.001})
	in := law.Inputs{Steer: at(8 * deg), Speed: at(4), YawRate: measure.Interval{Low: 50 * deg, High: 55 * deg}, Throttle: at(0.4), Gain: at(0.5)}
	for i := range in.Unshifted {
		in.Unshifted[i] = at(0.4)
	}
	assert.Zero(t, testing.AllocsPerRun(100, func() { l.At(&in) }))
}

func BenchmarkAt(b *testing.B) {
	for name, yaw := range map[string]measure.Interval{"point": at(50 * deg), "across": {Low: -5 * deg, High: 150 * deg}} {
		b.Run(name, func(b *testing.B) {
			l := law.New(bramble(), law.Scale{Step: 0.001})
			in := law.Inputs{Steer: at(8 * deg), Speed: at(4), YawRate: yaw, Throttle: at(0.4), Gain: at(0.5), HasWheels: true, Wheels: [4]measure.Interval{at(4), at(4), at(4), at(4)}}
			for i := range in.Unshifted {
				in.Unshifted[i] = at(0.4)
			}
			for b.Loop() {
				l.At(&in)
			}
		})
	}
}

// played is a history of noisy wires, held.
func played() *law.History {
	h := &law.History{Curve: law.Identity()}
	r := rand.New(rand.NewPCG(1, 2))
	for t := signal.Time(0); t < 2*signal.Second; t += signal.Millisecond {
		h.Speed.Add(t, 4)
		for i := range h.Wheels {
			h.Wheels[i].Add(t, 4)
		}
		if t%(5*signal.Millisecond) == 0 {
			h.YawRate.Add(t, 50*deg+0.15*deg*r.NormFloat64())
		}
		if t%(10*signal.Millisecond) == 0 {
			h.Steer.Add(t, 8*deg)
			h.Throttle.Add(t, 0.4)
			h.Gain.Add(t, 0.5)
		}
	}
	return h
}

func everyFrame(from, to signal.Time) (ends []signal.Time) {
	for t := from; t < to; t += 2500 * signal.Microsecond {
		ends = append(ends, t)
	}
	return ends
}

func BenchmarkMean(b *testing.B) {
	l, h := law.New(bramble(), law.Scale{Step: 0.001}), played()
	ends := everyFrame(signal.Second, 1600*signal.Millisecond)
	for b.Loop() {
		l.Mean(h, ends)
	}
}

func BenchmarkFrame(b *testing.B) {
	l, h := law.New(bramble(), law.Scale{Step: 0.001}), played()
	for b.Loop() {
		l.Frame(h, signal.Second)
	}
}

// Backwards, with demand and yaw rate of opposite signs, no word of the policy says what the shift is: firmware may go by the
// sizes of the two, by their difference, or take it for opposite lock. With one sign the branch goes by the sizes.
func TestOppositeSignsBackwardsAreLeftOpen(t *testing.T) {
	p := bramble()
	p.Reverse = law.ReverseAsForward
	l := law.New(p, law.Scale{Step: 0.001})
	asked := func(yawRate float64) law.Answer {
		in := law.Inputs{Steer: at(-20 * deg), Speed: at(-2), YawRate: at(yawRate), Throttle: at(0.5), Gain: at(0.5)}
		for i := range in.Unshifted {
			in.Unshifted[i] = at(0.5)
		}
		return l.At(&in)
	}
	demand := p.Demand.YawRate(-2, -20*deg)
	one, opposite := asked(2*demand), asked(-demand)
	for i := range opposite.Shifts {
		assert.True(t, opposite.Shifts[i].Low <= 0 && opposite.Shifts[i].High >= 0, "motor %d may stay: %+v", i, opposite.Shifts[i])
	}
	moved := opposite.Shifts[plant.FrontLeft].High - opposite.Shifts[plant.FrontLeft].Low
	assert.Greater(t, moved, 0.08*2*math.Abs(demand)/(60*deg), "as far as the difference of the two asks")
	assert.Positive(t, one.Shifts[plant.FrontLeft].Low, "%+v", one.Shifts)
	assert.Negative(t, one.Shifts[plant.RearLeft].High, "%+v", one.Shifts)
}

// Half of an oversteer's shift under opposite lock, which grows up to 40 %: firmware may take half of the error's 47 % and come to 23.5 %,
// or half of the 40 % that it comes to, and no more.
func TestAShareMayBeTakenBeforeAShiftSaturates(t *testing.T) {
	p := bramble()
	p.OppositeLock, p.OppositeLockShare, p.MotorsEqualWithin = law.OppositeLockShare, 0.5, nil
	p.Demand.Within = 0
	p.ShiftAt = &law.ShiftAt{Error: 50 * deg, Gain: 0.5, Is: 0.1, Most: 0.4, Grows: law.GrowthSaturating}
	in := law.Inputs{Speed: at(4), Throttle: at(0.5), Gain: at(0.5)}
	for i := range in.Unshifted {
		in.Unshifted[i] = at(0.5)
	}
	in.Steer = at(8 * deg)
	demand := p.Demand.YawRate(4, 8*deg)
	in.YawRate = at(demand - 4.7*50*deg)
	require.Less(t, in.YawRate.Low, 0.0)
	a := law.New(p, law.Scale{Step: 0.001}).At(&in)
	most := 0.0
	for _, s := range a.Shifts {
		most = max(most, s.High)
	}
	assert.InDelta(t, 0.235, most, 0.002)
}

// The wheels go back from 10 deg while the car turns with them, and what is fed forward of the steering's rate asks for the other side
// for a moment. Firmware that takes opposite lock from how the steering stands goes on by the yaw error, and by no_shift none is right as well.
func TestARateFedForwardNeedBeNoOppositeLock(t *testing.T) {
	p := bramble()
	p.OppositeLock, p.Demand.SteerRate = law.OppositeLockNoShift, 0.025
	l := law.New(p, law.Scale{Step: 0.001})
	asked := func(steer float64) law.Answer {
		in := law.Inputs{Steer: at(steer), SteerRate: at(-10 * deg / 0.009), Speed: at(4), YawRate: at(20 * deg), Throttle: at(0.5), Gain: at(0.5)}
		for i := range in.Unshifted {
			in.Unshifted[i] = at(0.5)
		}
		return l.At(&in)
	}
	with, against := asked(6*deg), asked(-6*deg)
	for i, s := range with.Shifts {
		assert.True(t, s.Low <= 0 && s.High >= 0, "motor %d may stay: %+v", i, s)
	}
	assert.Greater(t, with.Shifts[plant.RearRight].High, 0.08, "as in understeer: %+v", with.Shifts)
	assert.Less(t, against.Shifts[plant.RearRight].High, 0.02, "the driver steers against the turn: %+v", against.Shifts)
}

// Backwards the demand of firmware that takes its speed without a sign has the other one: what it is told of a car that turns as it is
// steered backwards is opposite lock, and the error the sum of the two.
func TestASpeedWithoutASignIsOppositeLockBackwards(t *testing.T) {
	p := bramble()
	p.Reverse, p.OppositeLock, p.Demand.Within, p.ShiftAt.Within = law.ReverseAsForward, law.OppositeLockUndersteer, 0, 0
	in := law.Inputs{Steer: at(-5 * deg), Speed: at(-1.2), YawRate: at(40 * deg), Throttle: at(0.5), Gain: at(0.5)}
	for i := range in.Unshifted {
		in.Unshifted[i] = at(0.5)
	}
	demand := p.Demand.YawRate(-1.2, -5*deg)
	require.Positive(t, demand, "the car turns to the left, as is demanded of it")
	a := law.New(p, law.Scale{Step: 0.001}).EitherSign().At(&in)
	with, without := 0.08*(40*deg-demand)/(60*deg), 0.08*(40*deg+demand)/(60*deg)
	assert.InDelta(t, 0.5-without, a.Commands[plant.FrontRight].Low, 0.002, "in a turn to the right by the steering, the inside in understeer")
	assert.InDelta(t, 0.5+with, a.Commands[plant.FrontLeft].High, 0.002, "the outside in oversteer")
	p.OppositeLock = law.OppositeLockOversteer
	a = law.New(p, law.Scale{Step: 0.001}).EitherSign().At(&in)
	assert.InDelta(t, 0.5+with, a.Commands[plant.FrontLeft].Low, 0.002, "oversteer, with a sign or without")
	assert.InDelta(t, 0.5+without, a.Commands[plant.FrontLeft].High, 0.002)
	p.Reverse = law.ReverseNoShift
	a = law.New(p, law.Scale{Step: 0.001}).EitherSign().At(&in)
	assert.Less(t, a.Commands[plant.FrontLeft].High, 0.512, "what knows that it rolls backwards shifts nothing")
	p.Reverse = law.ReverseAsForward
	a = law.New(p, law.Scale{Step: 0.001}).At(&in)
	assert.InDelta(t, 0.5+with, a.Commands[plant.FrontLeft].High, 0.002, "with its sign alone")
}

// With the throttle below the floor a shift may take a motor down to idle, leave it where it was, or be scaled to nothing as there is no room below;
// a motor may be lifted to the floor as well, but near idle none is.
func TestBelowTheFloorAMotorMayStayOrGoDown(t *testing.T) {
	p := bramble()
	p.Floor, p.AtTheLimit, p.TurnFrom = new(0.06), 0, law.TurnFromDemand
	asked := func(throttle float64) law.Answer {
		in := law.Inputs{Steer: at(10 * deg), Speed: at(4), Throttle: at(throttle), Gain: at(0.5)}
		for i := range in.Unshifted {
			in.Unshifted[i] = at(throttle)
		}
		return law.New(p, law.Scale{Step: 0.001}).At(&in)
	}
	a := asked(0.05)
	outer, inner := a.Commands[plant.RearRight], a.Commands[plant.FrontLeft]
	assert.True(t, holds(outer, 0.05), "scaled to nothing with its partner: %+v", outer)
	assert.True(t, holds(inner, 0) && holds(inner, 0.05) && holds(inner, 0.06), "%+v", inner)
	assert.Less(t, inner.High, 0.072, "and no higher than the floor: %+v", inner)
	assert.True(t, holds(asked(0.03).Commands[plant.FrontLeft], 0.06), "lifted to the floor")
	assert.Less(t, asked(0.01).Commands[plant.FrontLeft].High, 0.022, "near idle no motor is lifted")
}
