package measure_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/assertions/measure"
)

// Certified values of the NIST Statistical Reference Datasets, Norris: the linear case of the fit; digits
// as printed there (READ, by way of the tests of the GNU Scientific Library).
func TestPolynomialOfNorris(t *testing.T) {
	var x, y, weight []float64
	for _, row := range table(t, "nist_norris.csv") {
		x, y, weight = append(x, float(t, row["x"])), append(y, float(t, row["y"])), append(weight, 1)
	}
	p, ok := measure.PolynomialOf(1, x, y, weight, 0)
	require.True(t, ok)
	assert.InEpsilon(t, -0.262323073774029, p.At(0), 1e-11)
	assert.InEpsilon(t, 1.00211681802045, p.Derivative(1), 1e-13)
	assert.InEpsilon(t, 0.884796396144373, p.Residual, 1e-12)
	// The residuals of this set are hardly correlated; what they are lowers no certified number.
	assert.GreaterOrEqual(t, p.Standard(1), 0.232818234301152*(1-1e-9))
	assert.GreaterOrEqual(t, p.Standard(0, 1), 0.429796848199937e-03*(1-1e-9))
	assert.InEpsilon(t, 0.232818234301152/0.429796848199937e-03, p.Standard(1)/p.Standard(0, 1), 1e-9)
	assert.Zero(t, p.Derivative(2))
}

func TestPolynomialOfFollowsItsOwnDegree(t *testing.T) {
	want := []float64{3, -2, 0.5, 7, -11} // derivatives at 2
	var x, y, weight []float64
	for i := range 40 {
		at := 1.5 + float64(i)/40
		z, sum, power := at-2, 0.0, 1.0
		for k, c := range want {
			sum += c * power
			power *= z / float64(k+1)
		}
		x, y, weight = append(x, at), append(y, sum), append(weight, float64(1+i%3))
	}
	p, ok := measure.PolynomialOf(4, x, y, weight, 2)
	require.True(t, ok)
	for k, c := range want {
		assert.InDelta(t, c, p.Derivative(k), 1e-8, "derivative %d", k)
	}
	for name, bad := range map[string]func() bool{
		"too few":    func() bool { _, ok := measure.PolynomialOf(4, x[:5], y[:5], weight[:5], 2); return ok },
		"no spread":  func() bool { _, ok := measure.PolynomialOf(1, []float64{1, 1, 1}, y[:3], weight[:3], 1); return ok },
		"degree":     func() bool { _, ok := measure.PolynomialOf(5, x, y, weight, 2); return ok },
		"two places": func() bool { _, ok := measure.PolynomialOf(2, []float64{1, 1, 2, 2}, y[:4], weight[:4], 1); return ok },
	} {
		assert.False(t, bad(), name)
	}
}

// motor is a motor of constant resistance on a constant voltage: speed = free (1 - exp(-t/constant)).
type motor struct{ free, constant float64 }

func (m motor) angle(t float64) float64 {
	return m.free * (t + m.constant*math.Expm1(-t/m.constant))
}

// turning returns when each line passes, of so many in a turn, until the time end.
func (m motor) turning(lines int, end float64) *measure.Turning {
	t := &measure.Turning{}
	at := 0.0
	for i := 1; ; i++ {
		angle := float64(i) * 2 * math.Pi / float64(lines)
		for range 30 { // by Newton, from the last
			speed := -m.free * math.Expm1(-at/m.constant)
			if speed < 1e-3*m.free {
				at = math.Sqrt(2 * angle * m.constant / m.free)
				speed = -m.free * math.Expm1(-at/m.constant)
			}
			at -= (m.angle(at) - angle) / speed
		}
		if at > end {
			return t
		}
		t.Time, t.Angle, t.Stamp = append(t.Time, at), append(t.Angle, angle), append(t.Stamp, 0)
	}
}

// The exact acceleration of a motor with constant resistance is (free - speed)/constant (exact solution).
func TestAccelerationOfAnExactExponential(t *testing.T) {
	var f measure.Fitter
	for _, m := range []motor{{400, 0.3}, {260, 0.3}, {1000, 1}} {
		turning := m.turning(256, 0.85*m.constant)
		for _, w := range []float64{0.2 * m.free, 0.4 * m.free} {
			a, err := f.AccelerationAt(w, turning)
			require.NoError(t, err)
			want := (m.free - w) / m.constant
			assert.InEpsilon(t, want, a.Value, 3e-4, "%v at %v", m, w)
			assert.LessOrEqual(t, math.Abs(a.Value-want), 1.5*a.Bias+1e-9*want, "the bias that it states is that which it has")
			assert.InDelta(t, -m.constant*math.Log(1-w/m.free), a.At, 2e-4*m.constant)
			assert.Greater(t, a.Turned, 0.0)
		}
	}
	_, err := f.AccelerationAt(500, motor{400, 0.3}.turning(256, 0.3))
	assert.ErrorContains(t, err, "does not pass through 500 rad/s")
	_, err = f.AccelerationAt(50, motor{400, 0.3}.turning(4, 0.05))
	assert.ErrorContains(t, err, "fewer than 16")
}

// A shaft that goes on for long at its free speed passes a low speed within a few of its entries.
func TestAccelerationBeforeALongPlateau(t *testing.T) {
	var f measure.Fitter
	m := motor{133, 0.3}
	a, err := f.AccelerationAt(60, m.turning(1024, 12*m.constant))
	require.NoError(t, err)
	assert.InEpsilon(t, (m.free-60)/m.constant, a.Value, 3e-4)
	_, err = f.AccelerationAt(140, m.turning(1024, 12*m.constant))
	assert.ErrorContains(t, err, "does not pass through 140 rad/s")
}

// noisy has every line stand off its place by a normal error, and every stamp too.
func noisy(t *measure.Turning, draw *rand.Rand, line, stamp, speed float64) *measure.Turning {
	out := &measure.Turning{Time: t.Time, Line: line}
	for _, angle := range t.Angle {
		out.Angle = append(out.Angle, angle+line*draw.NormFloat64()+stamp*speed*draw.NormFloat64())
		out.Stamp = append(out.Stamp, stamp)
	}
	return out
}

func TestAccelerationHoldsTheTruthWithKnownNoise(t *testing.T) {
	var f measure.Fitter
	m := motor{400, 0.3}
	turning := m.turning(256, 0.25)
	draw := rand.New(rand.NewPCG(1, 2))
	const w = 120
	want := (m.free - w) / m.constant
	within, trials := 0, 400
	var sum, square, stated float64
	for range trials {
		a, err := f.AccelerationAt(w, noisy(turning, draw, 2e-3, 2e-6, w))
		require.NoError(t, err)
		i := a.Interval()
		if i.Low <= want && want <= i.High {
			within++
		}
		sum += a.Value - want
		square += (a.Value - want) * (a.Value - want)
		stated += a.Statistical
	}
	t.Logf("%d of %d, mean error %.3g, deviation %.3g, stated %.3g of %.4g", within, trials, sum/float64(trials), math.Sqrt(square/float64(trials)), stated/float64(trials), want)
	assert.GreaterOrEqual(t, within, trials*92/100)
	assert.InEpsilon(t, math.Sqrt(square/float64(trials)), stated/float64(trials), 0.25)
}

// An error that goes once round is not in the residuals of a part of a turn: the spread over its phases is what is stated.
func TestAccelerationStatesWhatGoesOnceRound(t *testing.T) {
	var f measure.Fitter
	const once, w = 2e-3, 60
	exact := motor{400, 0.3}.turning(256, 0.09)
	want, err := f.AccelerationAt(w, exact)
	require.NoError(t, err)
	var square, stated float64
	const phases = 36
	for i := range phases {
		bad := &measure.Turning{Time: exact.Time, Stamp: exact.Stamp, Line: 1e-5, Once: once}
		for _, angle := range exact.Angle {
			bad.Angle = append(bad.Angle, angle+once*math.Sin(angle+2*math.Pi*float64(i)/phases))
		}
		a, err := f.AccelerationAt(w, bad)
		require.NoError(t, err)
		square += (a.Value - want.Value) * (a.Value - want.Value)
		stated += a.Statistical
	}
	assert.InEpsilon(t, math.Sqrt(square/phases), stated/phases, 0.2)
}

func TestAccelerationOfACoastIsBelowZero(t *testing.T) {
	var f measure.Fitter
	up := motor{400, 0.3}.turning(256, 0.25)
	n := len(up.Time)
	down := &measure.Turning{}
	for i := n - 1; i >= 0; i-- { // time runs backwards: the speed falls as it rose
		down.Time = append(down.Time, up.Time[n-1]-up.Time[i])
		down.Angle = append(down.Angle, up.Angle[n-1]-up.Angle[i])
		down.Stamp = append(down.Stamp, 0)
	}
	a, err := f.AccelerationAt(120, down)
	require.NoError(t, err)
	assert.InEpsilon(t, -(400.0-120)/0.3, a.Value, 3e-4)
}

func TestAccelerationAllocatesNothingOnceItHasRoom(t *testing.T) {
	var f measure.Fitter
	turning := motor{400, 0.3}.turning(256, 0.25)
	assert.Zero(t, testing.AllocsPerRun(10, func() {
		if _, err := f.AccelerationAt(120, turning); err != nil {
			t.Error(err)
		}
	}))
}

// stepped turns as a shaft whose acceleration is from until step + delay, and then nears to with a lag,
// by summing up in steps of 10 us.
func stepped(step, delay, lag, from, to, speed, end float64, lines int) *measure.Turning {
	t := &measure.Turning{}
	const dt = 1e-5
	angle, between := 0.0, 2*math.Pi/float64(lines)
	next := between
	for i := 0; float64(i)*dt < end; i++ {
		at := float64(i) * dt
		a := from
		if after := at - step - delay; after > 0 {
			a = to + (from-to)*math.Exp(-after/lag)
		}
		was := angle
		angle += speed*dt + a*dt*dt/2
		speed += a * dt
		for angle >= next {
			t.Time = append(t.Time, at+dt*(next-was)/(angle-was))
			t.Angle, t.Stamp = append(t.Angle, next), append(t.Stamp, 0)
			next += between
		}
	}
	return t
}

// The truth is that of a shaft integrated step by step (CALC).
func TestStepAtFindsDelayAndRise(t *testing.T) {
	var f measure.Fitter
	draw := rand.New(rand.NewPCG(3, 4))
	for _, row := range []struct{ delay, lag, from, to float64 }{
		{0.004, 0.006, 20, 600}, {0.012, 0.003, 300, -200}, {0.002, 0.02, 0, 900},
	} {
		exact := stepped(0.1, row.delay, row.lag, row.from, row.to, 100, 0.3, 1024)
		l, err := f.StepAt(0.1, 0.05, exact)
		require.NoError(t, err)
		assert.InDelta(t, row.delay, l.Delay.Value, 2e-5)
		assert.InDelta(t, row.lag*math.Log(9), l.Rise.Value, 1e-4)
		assert.InEpsilon(t, row.to-row.from, l.Step, 1e-3)
		within, trials := 0, 25
		for range trials {
			l, err := f.StepAt(0.1, 0.05, noisy(exact, draw, 5e-4, 0, 0))
			require.NoError(t, err)
			if i := l.Delay.Interval(); i.Low <= row.delay && row.delay <= i.High {
				within++
			}
			if i := l.Rise.Interval(); i.Low <= row.lag*math.Log(9) && row.lag*math.Log(9) <= i.High {
				within++
			}
		}
		assert.GreaterOrEqual(t, within, 2*trials*86/100, "%v", row)
	}
	_, err := f.StepAt(0.1, 0.05, noisy(stepped(0.1, 0, 0.01, 100, 100, 100, 0.3, 1024), draw, 5e-4, 0, 0))
	assert.ErrorContains(t, err, "does not change with the step")
	_, err = f.StepAt(0.9, 0.05, stepped(0.1, 0, 0.01, 100, 100, 100, 0.3, 1024))
	assert.ErrorContains(t, err, "too few")
}
