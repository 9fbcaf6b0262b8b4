package law_test

import (
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

const ms = signal.Millisecond

// wire is a series as it was played, for the test to read by itself.
type wire struct {
	at    []signal.Time
	value []float64
}

func (w *wire) play(every, until signal.Time, of func(t signal.Time) float64) (s law.Series) {
	for t := signal.Time(0); t < until; t += every {
		w.at, w.value = append(w.at, t), append(w.value, of(t))
		s.Add(t, w.value[len(w.value)-1])
	}
	return s
}

// now returns the value that holds.
func (w *wire) now(t signal.Time) (x float64) {
	for k, at := range w.at {
		if at <= t {
			x = w.value[k]
		}
	}
	return x
}

// drive is a played drive with the wires that it went out on.
type drive struct {
	h                                 law.History
	steer, throttle, gain, yaw, speed wire
}

// drawnDrive plays sines about a point, or with still a hold of it, both with noise on the yaw rate.
func drawnDrive(r *rand.Rand, x point, until signal.Time, still bool) *drive {
	d := &drive{}
	move := func(mean, by float64) func(t signal.Time) float64 {
		w, phase := span(r, 1, 20), span(r, 0, 6)
		if still {
			by = 0
		}
		return func(t signal.Time) float64 { return mean + by*math.Sin(w*t.Seconds()+phase) }
	}
	yaw := move(x.yaw, 1)
	d.h.Steer = d.steer.play(10*ms, until, move(x.steer, 0.1))
	d.h.Throttle = d.throttle.play(10*ms, until, move(x.throttle, 0.1))
	d.h.Gain = d.gain.play(10*ms, until, move(x.gain, 0.1))
	d.h.YawRate = d.yaw.play(5*ms, until, func(t signal.Time) float64 { return yaw(t) + 0.3*deg*r.NormFloat64() })
	d.h.Speed = d.speed.play(ms, until, move(x.speed, 1))
	return d
}

// now is what holds on the wires.
func (d *drive) now(t signal.Time) point {
	return point{steer: d.steer.now(t), throttle: d.throttle.now(t), gain: d.gain.now(t), yaw: d.yaw.now(t), speed: d.speed.now(t)}
}

// timedPolicy draws a policy for drives: with what a board is late and smooths by, and nothing that is drawn
// anew from command to command.
func timedPolicy(r *rand.Rand) *law.Policy {
	p := drawnPolicy(r)
	p.Response = &law.Response{AtMost: signal.Time(1+r.IntN(20)) * ms, Quantile: 0.95}
	if p.Demand != nil {
		p.Demand.SteerRate = 0
	}
	if p.ShiftAt != nil && p.ShiftAt.Grows == law.GrowthIntegrating {
		p.ShiftAt.Grows = 0
	}
	switch r.IntN(3) {
	case 0:
		p.Smoothing = &law.Smoothing{Filter: signal.Time(1+r.IntN(10)) * ms}
	case 1:
		p.Smoothing = &law.Smoothing{FullRangeIn: signal.Time(20+r.IntN(100)) * ms}
	}
	return p
}

// Whatever a board commands in a drive, as late as declared and smoothed, lies in the law of the frame.
func TestFrameHoldsBoardsThatAreLateAndSmooth(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		seed := rapid.Uint64().Draw(t, "seed")
		r := rand.New(rand.NewPCG(seed, 1))
		p, scale := timedPolicy(r), law.Scale{Step: 0.001}
		l, b := law.New(p, scale), newPointBoard(r, p, scale)
		d := drawnDrive(r, drawnPoint(r, p, scale), signal.Second, false)
		late := signal.Time(r.Int64N(int64(p.Response.AtMost) + 1))
		var held [4]float64
		const turn = 4 * ms
		for end := 100 * ms; end < signal.Second; end += turn {
			x := d.now(end - late)
			c, _, known := b.command(&x)
			if end == 100*ms || p.Smoothing == nil {
				held = c
			}
			smooth(&held, c, p.Smoothing, turn)
			if end < 500*ms || !known { // what the filter began with is forgotten
				continue
			}
			a, ok := l.Frame(&d.h, end)
			if !ok {
				t.Fatalf("at %v the law has no inputs", end)
			}
			for i, w := range plant.Wheels {
				if i := a.Commands[i]; held[w] < i.Low-1e-3 || held[w] > i.High+1e-3 {
					in, _ := l.Over(&d.h, end)
					t.Fatalf("%v commanded %v at %v; the law has %+v\n%v %s", w, held[w], end, a, late, drawn(p, b, &x, &in))
				}
			}
		}
	})
}

// smooth moves held commands on to c in a turn of the loop.
func smooth(held *[4]float64, c [4]float64, s *law.Smoothing, turn signal.Time) {
	for i := range held {
		switch {
		case s == nil:
		case s.Filter > 0:
			held[i] += (c[i] - held[i]) * (1 - math.Exp(-turn.Seconds()/s.Filter.Seconds()))
		case s.FullRangeIn > 0:
			most := turn.Seconds() / s.FullRangeIn.Seconds()
			held[i] += min(max(c[i]-held[i], -most), most)
		}
	}
}

// The mean of what a board commands in a hold lies in the law of the mean, whatever its delay, and
// whether it reads each value as it comes or the mean of several.
func TestMeanHoldsTheMeanOfNoisyCommands(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) { meanOfNoisyCommands(t, rapid.Uint64().Draw(t, "seed")) })
}

// A draw in which the law without room for it missed the mean by 0.8 % of range.
func TestMeanHoldsTheMeanOfADrawOfNoisySigns(t *testing.T) { meanOfNoisyCommands(t, 0x1cd) }

// The sign of a yaw rate about none goes to and fro with its noise, at other moments in firmware that reads the mean of
// several values, and of so many the one has more to one side than the other: what such firmware commands on the mean
// lies in the law, which is far narrower than the jump.
func TestMeanHoldsTheMeanOfNoisySigns(t *testing.T) {
	p := bramble()
	p.Demand.Within, p.ShiftAt.Within, p.TurnFrom = 0, 0, law.TurnFromYawRate
	l := law.New(p, law.Scale{})
	for seed := range uint64(12) {
		r := rand.New(rand.NewPCG(seed, 7))
		h, yaw := played(), wire{}
		h.YawRate = yaw.play(5*ms, 2*signal.Second, func(signal.Time) float64 { return 0.3 * deg * r.NormFloat64() })
		ends := everyFrame(400*ms, signal.Second)
		a, ok := l.Mean(h, ends)
		require.True(t, ok)
		for _, of := range []signal.Time{3, 5} {
			var sum [4]float64
			for _, end := range ends {
				in, ok := l.Over(h, end)
				require.True(t, ok)
				x := 0.0
				for k := range of {
					x += yaw.now(end-2*ms-k*5*ms) / float64(of)
				}
				in.YawRate = at(x)
				one := l.At(&in)
				for i, c := range one.Commands {
					require.Less(t, c.Width(), 0.021, "what counts as no shift, either way")
					sum[i] += (c.Low + c.High) / 2 / float64(len(ends))
				}
			}
			for i, c := range a.Commands {
				assert.True(t, c.Low-1e-4 <= sum[i] && sum[i] <= c.High+1e-4, "seed %d, mean of %d: %v is not in %v", seed, of, sum[i], c)
				assert.Less(t, c.Width(), 0.12, "a front motor jumps by 0.23 from turn to turn")
			}
		}
	}
}

// meanOfNoisyCommands holds the mean of what a drawn board commands in a drawn hold against the law.
func meanOfNoisyCommands(t interface{ Fatalf(string, ...any) }, seed uint64) {
	r := rand.New(rand.NewPCG(seed, 1))
	p, scale := timedPolicy(r), law.Scale{Step: 0.001}
	p.Smoothing, p.SumCap = nil, nil
	l, b := law.New(p, scale), newPointBoard(r, p, scale)
	b.feedForward = 2
	d := drawnDrive(r, drawnPoint(r, p, scale), 1100*ms, true)
	late := signal.Time(r.Int64N(int64(p.Response.AtMost) + 1))
	smoothed := maybe(r)
	var sum [4]float64
	ends := everyFrame(400*ms, signal.Second)
	for _, end := range ends {
		x := d.now(end - late)
		if smoothed {
			x.yaw = (x.yaw + d.yaw.now(end-late-5*ms) + d.yaw.now(end-late-10*ms)) / 3
		}
		c, _, known := b.command(&x)
		if !known {
			return
		}
		for i := range sum {
			sum[i] += c[i] / float64(len(ends))
		}
	}
	a, ok := l.Mean(&d.h, ends)
	if !ok {
		t.Fatalf("the law has no inputs")
	}
	for i, w := range plant.Wheels {
		// The first and the last values of the window are not quite the same at each delay.
		if i := a.Commands[i]; a.Missing == "" && (sum[w] < i.Low-1e-3 || sum[w] > i.High+1e-3) {
			x := d.now(ends[0])
			in, _ := l.Over(&d.h, ends[0])
			t.Fatalf("%v commanded %v on the mean; the law has %+v\n%v %v %s", w, sum[w], a, late, smoothed, drawn(p, b, &x, &in))
		}
	}
}

// Noise averages out of a mean, while each frame is held to all that it may have been.
func TestMeanIsNarrowerThanItsFrames(t *testing.T) {
	p := bramble()
	p.Demand.Within, p.ShiftAt.Within = 0, 0
	l, h := law.New(p, law.Scale{Step: 0.001}), played()
	a, ok := l.Mean(h, everyFrame(signal.Second, 1600*ms))
	require.True(t, ok)
	one, ok := l.Frame(h, signal.Second)
	require.True(t, ok)
	for i := range a.Commands {
		assert.Less(t, a.Commands[i].Width(), one.Commands[i].Width()+1e-12)
	}
	raised := a.Commands[plant.RearRight]
	assert.Less(t, raised.Width(), 0.0025, "two steps and what is left of noise")
	assert.Equal(t, law.Understeer, a.Branch)
	assert.Equal(t, one.Lowest, a.Lowest)
	assert.Equal(t, one.Highest, a.Highest, "the cap of one is that of all")
}

// While the yaw rate is ramped, a mean may be that of any delay up to the horizon, and of no more.
func TestMeanOfARamp(t *testing.T) {
	p := bramble()
	p.Demand.Within, p.ShiftAt.Within, p.Response = 0, 0, &law.Response{AtMost: 12 * ms}
	l, h := law.New(p, law.Scale{}), played()
	ramp := func(t signal.Time) float64 { return 20*deg + 50*deg*t.Seconds() }
	h.YawRate = law.Series{}
	for t := signal.Time(0); t < 2*signal.Second; t += ms {
		h.YawRate.Add(t, ramp(t))
	}
	a, ok := l.Mean(h, everyFrame(200*ms, 600*ms))
	require.True(t, ok)
	// The middle of the ends is 398.75 ms; the values are held for 1 ms, 0.5 ms on the mean. At 8 deg and
	// 4 m/s the demand is 4*8/(0.33+0.0028*16) deg/s, and 8 % of range are asked for at 60 deg/s. CALC.
	shift := func(late float64) float64 { return 0.08 / 60 * (32/(0.33+0.0448) - 20 - 50*(0.39875-late)) }
	raised := a.Shifts[plant.RearRight]
	assert.InDelta(t, shift(0), raised.Low, 5e-5)
	assert.InDelta(t, shift(0.022), raised.High, 5e-5)
}

func TestHistoryThatDoesNotReachBack(t *testing.T) {
	l, h := law.New(bramble(), law.Scale{}), played()
	_, ok := l.Frame(h, 10*ms)
	assert.False(t, ok)
	_, ok = l.Mean(h, nil)
	assert.False(t, ok, "no ends")
	_, ok = l.Mean(h, []signal.Time{10 * ms})
	assert.False(t, ok)
	_, ok = l.Mean(&law.History{}, []signal.Time{10 * ms})
	assert.False(t, ok)
	h.YawRate.Add(3*signal.Second, math.NaN())
	_, ok = l.Frame(h, 4*signal.Second)
	assert.False(t, ok, "not a number")
}

func TestHorizon(t *testing.T) {
	p, h := bramble(), played()
	assert.Equal(t, 30*ms, law.New(p, law.Scale{}).Horizon(h), "20 ms where no response is declared, and a pulse at 100 Hz")
	p.Response = &law.Response{AtMost: 12 * ms}
	assert.Equal(t, 22*ms, law.New(p, law.Scale{}).Horizon(h))
	p.LongestGap = new(40 * ms)
	assert.Equal(t, 50*ms, law.New(p, law.Scale{}).Horizon(h))
	p.Smoothing = &law.Smoothing{Filter: 10 * ms, FullRangeIn: 100 * ms}
	assert.Equal(t, 230*ms, law.New(p, law.Scale{}).Horizon(h), "eight time constants and a whole range")
	assert.Equal(t, 330*ms, law.New(p, law.Scale{Lowest: -1}).Horizon(h), "with a neutral a command may go through as much range again")
}

// The steering's rate is between none and the steepest from one pulse to the next.
func TestSteerRateOfPulses(t *testing.T) {
	p := bramble()
	p.Demand.SteerRate = 0.02
	l, h := law.New(p, law.Scale{}), played()
	for t := 2 * signal.Second; t < 2200*ms; t += 10 * ms {
		h.Steer.Add(t, 8*deg-(t-1990*ms).Seconds()*2)
		h.Throttle.Add(t, 0.4)
		h.Gain.Add(t, 0.5)
		h.YawRate.Add(t, 0)
		h.Speed.Add(t, 4)
		for i := range h.Wheels {
			h.Wheels[i].Add(t, 4)
		}
	}
	in, ok := l.Over(h, 2100*ms)
	require.True(t, ok)
	assert.InDelta(t, -2, in.SteerRate.Low, 1e-9)
	assert.Zero(t, in.SteerRate.High)
}

// A shift that integrates may hold what it gathered, and then be on either side.
func TestFrameOfAShiftThatIntegrates(t *testing.T) {
	p := bramble()
	p.ShiftAt.Grows, p.ShiftAt.Most = law.GrowthIntegrating, 0.15
	l, h := law.New(p, law.Scale{Step: 0.001}), played()
	one, ok := l.Frame(h, signal.Second)
	require.True(t, ok)
	assert.InDelta(t, 0.25, one.Commands[plant.RearRight].Low, 1e-9)
	assert.InDelta(t, 0.551, one.Commands[plant.RearRight].High, 1e-9)
	assert.Less(t, one.Commands[plant.RearLeft].Width(), 0.35)
	a, ok := l.Mean(h, everyFrame(signal.Second, 1600*ms))
	require.True(t, ok)
	assert.InDelta(t, 0.389, a.Commands[plant.RearRight].Low, 1e-9, "the mean is of a shift that began with nothing gathered")
}

// The bound of a growing shift is declared with no tolerance of its own: motors that may stand apart pass it by as much of it.
func TestBoundOfAShiftOfMotorsThatStandApart(t *testing.T) {
	p, h := bramble(), played()
	p.ShiftAt.Grows, p.ShiftAt.Most = law.GrowthIntegrating, 0.15
	exact := law.New(p, law.Scale{})
	p.MotorsEqualWithin = new(0.02)
	apart := law.New(p, law.Scale{})
	from, ok := exact.Frame(h, signal.Second)
	require.True(t, ok)
	to, ok := apart.Frame(h, signal.Second)
	require.True(t, ok)
	stands := to.Unshifted[plant.RearRight].High - from.Unshifted[plant.RearRight].High // the owner's 2 % of the throttle itself
	assert.InDelta(t, 0.15*0.02, to.Commands[plant.RearRight].High-from.Commands[plant.RearRight].High-stands, 1e-9)
}

// A curve of the throttle is followed between its points, and through those that a throttle passes.
func TestCurve(t *testing.T) {
	motors := func(x float64) [4]measure.Interval {
		return [4]measure.Interval{at(x), at(x), at(x), {Low: x - 0.01, High: x + 0.01}}
	}
	h := &law.History{Curve: &law.Curve{Throttle: []float64{0, 0.5, 1}, Motors: [][4]measure.Interval{motors(0), motors(0.8), motors(0.6)}}}
	for k, x := range []float64{0.25, 0.75, 0.4, 0.6, -1, 2} {
		t := signal.Time(k) * signal.Second
		h.Steer.Add(t, 0)
		h.Throttle.Add(t, x)
		h.Gain.Add(t, 0)
		h.YawRate.Add(t, 0)
		h.Speed.Add(t, 3)
	}
	l := law.New(&law.Policy{Response: &law.Response{AtMost: ms}}, law.Scale{Lowest: -1})
	in, ok := l.Over(h, 2*signal.Second)
	require.True(t, ok)
	assert.InDelta(t, 0.4, in.Unshifted[0].Low, 1e-12)
	assert.InDelta(t, 0.8, in.Unshifted[0].High, 1e-12, "through the point at 0.5")
	assert.InDelta(t, 0.81, in.Unshifted[3].High, 1e-12)
	in, ok = l.Over(h, 5*signal.Second)
	require.True(t, ok)
	assert.InDelta(t, 0, in.Unshifted[0].Low, 1e-12, "beyond the ends the end")
}

// Where the limits lie is that of every command that the mean is of.
func TestMeanKeepsWhereTheLimitsLie(t *testing.T) {
	h := played()
	for _, p := range []*law.Policy{bramble(), {}} {
		l := law.New(p, law.Scale{Step: 0.001})
		a, ok := l.Mean(h, everyFrame(signal.Second, 1600*ms))
		require.True(t, ok)
		one, _ := l.Frame(h, signal.Second)
		assert.Equal(t, one.Allowed, a.Allowed)
		assert.InDelta(t, one.Highest.Low, a.Highest.Low, 0.02)
		assert.InDelta(t, one.Lowest.High, a.Lowest.High, 0.02)
		assert.Positive(t, a.Highest.Low)
	}
}
