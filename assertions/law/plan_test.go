package law_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/assertions/law"
	"hilrig/assertions/measure"
	"hilrig/plant"
)

const (
	fl = plant.FrontLeft
	fr = plant.FrontRight
	rl = plant.RearLeft
	rr = plant.RearRight
)

// understeering is a point of the demo car's policy at which a shift is asked for: the demand
// is 85.4 deg/s (CALC).
var understeering = law.Point{Steer: 8 * deg, Speed: 4, YawRate: 50 * deg, Throttle: 0.4, Gain: 0.5}

func wants(p *law.Policy, x law.Point) law.Want {
	l := law.New(p, law.Scale{Step: 0.001})
	in := l.Inputs(x, law.Identity())
	return l.Wants(&in)
}

func TestWants(t *testing.T) {
	w := wants(bramble(), understeering)
	assert.Equal(t, [4]law.Asked{fl: law.Lowered, fr: law.Unchanged, rl: law.Unchanged, rr: law.Raised}, w.Asks)
	assert.True(t, w.Clear())
	assert.Equal(t, [4]string{}, w.Why)
	size := 0.08 * (8*4/(0.33+0.0028*16) - 50) / 60
	for i, want := range [4]float64{fl: -size, rr: size} {
		assert.InDelta(t, want, w.Shifts[i], 1e-12)
		assert.InDelta(t, 0.4, w.Room[i].Low, 1e-12)
		assert.InDelta(t, 0.52, w.Room[i].High, 1e-12)
	}
	assert.Equal(t, law.Understeer, w.Answer.Branch)

	right := understeering
	right.Steer, right.YawRate = -right.Steer, -right.YawRate
	assert.Equal(t, [4]law.Asked{fl: law.Unchanged, fr: law.Lowered, rl: law.Raised, rr: law.Unchanged}, wants(bramble(), right).Asks)
}

// What is open, and what keeps it open.
func TestWantsSaysWhatIsOpen(t *testing.T) {
	moved := func(change func(x *law.Point)) law.Point {
		x := understeering
		change(&x)
		return x
	}
	none := [4]law.Asked{law.Unchanged, law.Unchanged, law.Unchanged, law.Unchanged}
	tests := []struct {
		name   string
		policy func(p *law.Policy)
		at     law.Point
		asks   [4]law.Asked
		why    string // of the right rear motor
	}{
		{name: "on demand", at: moved(func(x *law.Point) { x.YawRate, x.Gain = 85.37886872998933*deg, 1 }), asks: [4]law.Asked{rl: law.Unchanged}, why: "as near the demand"},
		{name: "no gain", at: moved(func(x *law.Point) { x.Gain = 0 }), asks: none},
		{name: "standstill", at: moved(func(x *law.Point) { x.Speed = 0.3 }), asks: none},
		{name: "standstill comes in", at: moved(func(x *law.Point) { x.Speed, x.YawRate = 0.55, -1 }), asks: [4]law.Asked{fl: law.Unchanged, rl: law.Unchanged}, why: "where the shift comes in"},
		{name: "backwards", at: moved(func(x *law.Point) { x.Speed, x.YawRate = -4, -0.5 }), asks: none},
		{name: "backwards, not declared", policy: func(p *law.Policy) { p.Reverse = 0 }, at: moved(func(x *law.Point) { x.Speed, x.YawRate = -4, -0.5 }), why: "the policy has no reverse"},
		{name: "in the dead band", policy: func(p *law.Policy) { p.DeadBand = new(60 * deg) }, at: understeering, asks: none},
		{name: "edge of the dead band", policy: func(p *law.Policy) { p.DeadBand = new(34 * deg) }, at: understeering, asks: [4]law.Asked{fr: law.Unchanged, rl: law.Unchanged}, why: "edge of the dead band"},
		{name: "nearly straight", policy: func(p *law.Policy) { p.Straight = &law.Straight{Steer: &law.Fade{From: 4 * deg, Full: 9 * deg}} }, at: understeering,
			asks: [4]law.Asked{fr: law.Unchanged, rl: law.Unchanged}, why: "nearly straight"},
		{name: "idle", at: moved(func(x *law.Point) { x.Throttle = 0.01 }), asks: [4]law.Asked{fr: law.Unchanged, rl: law.Unchanged}, why: "near idle"},
		{name: "side", policy: func(p *law.Policy) { p.TurnFrom = 0 }, at: moved(func(x *law.Point) { x.YawRate = -30 * deg }), why: "inside and outside"},
		{name: "gain step", policy: func(p *law.Policy) { p.GainSteps = []float64{0, 0.5, 1} }, at: moved(func(x *law.Point) { x.Gain = 0.25 }), asks: [4]law.Asked{fr: law.Unchanged, rl: law.Unchanged}, why: "between two steps"},
		{name: "no size", policy: func(p *law.Policy) { p.ShiftAt = nil }, at: understeering, asks: [4]law.Asked{fr: law.Unchanged, rl: law.Unchanged}, why: "declares no size"},
		{name: "small", at: moved(func(x *law.Point) { x.Gain = 0.1 }), asks: [4]law.Asked{fr: law.Unchanged, rl: law.Unchanged}, why: "so small"},
		{name: "no room", at: moved(func(x *law.Point) { x.Throttle = 0.9 }), asks: [4]law.Asked{fl: law.Lowered, fr: law.Unchanged, rl: law.Unchanged, rr: law.Raised}},
		{name: "no room at all", at: moved(func(x *law.Point) { x.Throttle = 0.915 }), asks: [4]law.Asked{fl: law.Lowered, fr: law.Unchanged, rl: law.Unchanged}, why: "no room"},
		{name: "no demand", policy: func(p *law.Policy) { p.Demand = nil }, at: understeering, why: "the policy has no demand"},
		{name: "no branch", policy: func(p *law.Policy) { p.Understeer = nil }, at: understeering, why: "the policy has no understeer"},
		{name: "no opposite lock", policy: func(p *law.Policy) { p.OppositeLock = 0 }, at: moved(func(x *law.Point) { x.YawRate = -1 }), why: "the policy has no opposite_lock"},
		{name: "braking", policy: func(p *law.Policy) { p.Braking = law.BrakingNoShift }, at: moved(func(x *law.Point) { x.Throttle = -0.2 }), asks: none},
		{name: "integrates", policy: func(p *law.Policy) { p.ShiftAt.Grows, p.ShiftAt.Most = law.GrowthIntegrating, 0.2 }, at: understeering, asks: [4]law.Asked{fr: law.Unchanged, rl: law.Unchanged}, why: "surely is one"},
		{name: "saturates", policy: func(p *law.Policy) { p.ShiftAt.Grows, p.ShiftAt.Most = law.GrowthSaturating, 0.2 }, at: understeering,
			asks: [4]law.Asked{fl: law.Lowered, fr: law.Unchanged, rl: law.Unchanged, rr: law.Raised}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			p := bramble()
			if tt.policy != nil {
				tt.policy(p)
			}
			w := wants(p, tt.at)
			assert.Equal(t, tt.asks, w.Asks, "%+v", w)
			if tt.why == "" {
				assert.Empty(t, w.Why[rr])
				return
			}
			assert.Contains(t, w.Why[rr], tt.why)
		})
	}
}

func TestWantsOfInputsThatAreNoNumbers(t *testing.T) {
	x := understeering
	x.YawRate = math.NaN()
	w := wants(bramble(), x)
	assert.Equal(t, "the yaw rate is no number", w.Why[rr])
	assert.Equal(t, measure.Interval{Low: 0, High: 0.92}, w.Answer.Allowed)
}

// Operating points come to what was asked for.
func TestOperatingPoints(t *testing.T) {
	for k := range uint64(2000) {
		r := rand.New(rand.NewPCG(3, k))
		p := strictPolicy(r)
		if maybe(r) {
			p.DeadBand = new(span(r, 0, 15*deg))
		}
		p.Straight, p.TurnFrom = nil, law.TurnFromSteer
		p.Understeer.Front, p.Understeer.Rear = 0, 0
		l := law.New(p, law.Scale{Step: 0.001})
		x := law.Point{Steer: span(r, 2*deg, 20*deg), Speed: span(r, 2, 8), Throttle: 0.3}
		x.YawRate = 0.5 * p.Demand.YawRate(x.Speed, x.Steer)
		const shift = 0.05
		gain, ok := l.GainFor(shift, x.Speed, x.Steer, x.YawRate)
		if !ok {
			continue
		}
		x.Gain = gain
		asked := largest(l, x)
		if len(p.GainSteps) == 0 {
			require.InDelta(t, shift, asked, 1e-9, "draw %d", k)
		} else {
			require.GreaterOrEqual(t, asked, shift-1e-9, "draw %d: the step asks for no less", k)
		}
		if asked > 1-1e-9 { // it may be cut to the whole range
			continue
		}
		yawError, ok := l.ErrorFor(asked, gain)
		require.True(t, ok)
		require.InDelta(t, 0.5*p.Demand.YawRate(x.Speed, x.Steer), yawError, 1e-9, "draw %d", k)
	}
}

// largest returns the size of the shift at a point of a motor whose share is the whole.
func largest(l *law.Law, x law.Point) float64 {
	in := l.Inputs(x, law.Identity())
	whole := 0.0
	for _, s := range l.Wants(&in).Shifts {
		whole = max(whole, s, -s)
	}
	return whole
}

func TestGainForIsRefused(t *testing.T) {
	p := bramble()
	l := law.New(p, law.Scale{})
	_, ok := l.GainFor(0.5, 4, 8*deg, 50*deg)
	assert.False(t, ok, "no gain asks for so much")
	_, ok = l.GainFor(0.05, 4, 8*deg, p.Demand.YawRate(4, 8*deg))
	assert.False(t, ok, "on demand no gain does")
	p.ShiftAt = nil
	_, ok = law.New(p, law.Scale{}).GainFor(0.05, 4, 8*deg, 0)
	assert.False(t, ok)
	_, ok = law.New(p, law.Scale{}).ErrorFor(0.05, 0.5)
	assert.False(t, ok)
}

func TestThrottleWithRoom(t *testing.T) {
	p := bramble()
	p.Floor = new(0.05)
	l := law.New(p, law.Scale{})
	throttle, most, ok := l.ThrottleWithRoom(0.2, nil, true)
	require.True(t, ok)
	assert.InDelta(t, 0.25, throttle, 1e-9)
	assert.InDelta(t, 0.72, most, 1e-9)
	_, _, ok = l.ThrottleWithRoom(0.45, nil, true)
	assert.False(t, ok, "the cap is 92 %")
	p.SumCap = new(0.9)
	_, _, ok = law.New(p, law.Scale{}).ThrottleWithRoom(0.2, nil, true)
	assert.False(t, ok, "four times 25 % is more than the cap of the sum")
	motors := func(x float64) [4]measure.Interval { return [4]measure.Interval{at(x), at(x), at(x), at(x - 0.02)} }
	throttle, _, ok = l.ThrottleWithRoom(0.2, &law.Curve{Throttle: []float64{0, 1}, Motors: [][4]measure.Interval{motors(0.02), motors(0.52)}}, true)
	require.True(t, ok)
	assert.InDelta(t, 0.5, throttle, 1e-9)
	p.SumCap, p.Floor, p.Cap = nil, nil, nil
	l = law.New(p, law.Scale{})
	throttle, most, ok = l.ThrottleWithRoom(0.2, nil, false)
	require.True(t, ok)
	assert.Equal(t, [2]float64{0.2, 0.8}, [2]float64{throttle, most}, "there is no floor and no cap")
	throttle, most, ok = l.ThrottleWithRoom(0.2, nil, true)
	require.True(t, ok)
	assert.Equal(t, [2]float64{0.4, 0.4}, [2]float64{throttle, most}, "there may be a floor of 20 % and a cap of 60 %")
}

func TestSpeedAndSteerForADemand(t *testing.T) {
	p := bramble()
	l := law.New(p, law.Scale{})
	for _, speed := range []float64{0.5, 2, 5, 10} { // below the speed of the highest demand, 10.9 m/s
		yaw := p.Demand.YawRate(speed, 6*deg)
		v, ok := l.SpeedFor(yaw, 6*deg)
		require.True(t, ok)
		assert.InDelta(t, speed, v, 1e-9)
		steer, ok := l.SteerFor(-yaw, speed)
		require.True(t, ok)
		assert.InDelta(t, -6*deg, steer, 1e-12)
	}
	_, ok := l.SpeedFor(10, 6*deg)
	assert.False(t, ok, "no speed asks for so much")
	_, ok = l.SpeedFor(-1, 6*deg)
	assert.False(t, ok, "to the other side")
	_, ok = l.SteerFor(1, 0)
	assert.False(t, ok)
	p.Demand.YawLimit = 1
	_, ok = law.New(p, law.Scale{}).SteerFor(1.2, 4)
	assert.False(t, ok, "the demand is limited to less")
}

// In a turn the wheels go at different speeds, and firmware may take any of them.
func TestPointWithATrack(t *testing.T) {
	p := bramble()
	p.Demand.Within = 0
	l := law.New(p, law.Scale{})
	x := understeering
	one := l.Inputs(x, law.Identity())
	x.Track = 0.3
	any := l.Inputs(x, law.Identity())
	assert.InDelta(t, 4-0.15*50*deg, any.Wheels[fl].Low, 1e-12)
	assert.InDelta(t, 4+0.15*50*deg, any.Wheels[rr].Low, 1e-12)
	a, b := l.At(&one), l.At(&any)
	assert.Greater(t, b.Shifts[rr].Width(), 1.2*a.Shifts[rr].Width())
	p.Demand.SpeedFrom = law.SpeedFromMean
	c := law.New(p, law.Scale{}).At(&any)
	assert.Equal(t, a.Shifts, c.Shifts)
}

func TestWordsOfAnswers(t *testing.T) {
	assert.Equal(t, "opposite lock", law.OppositeLocked.String())
	assert.Equal(t, "open", law.Undecided.String())
	assert.Empty(t, law.Reasons(0).String())
	assert.Equal(t, "the speed lies where the shift comes in", (law.NearStandstill | law.NearDemand).String())
}
