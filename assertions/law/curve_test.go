package law_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"hilrig/assertions/law"
	"hilrig/assertions/measure"
)

// A level at which the motors stood at their floor says that they are meant to stand there or below, one at their cap that there or
// beyond: the curve is drawn to what was seen. Between 0 at idle and 4 % at a throttle of 5 % a command of 1 % is that of 1.25 %;
// between 80 % and a cap of 88 % at 90 %, one of 86 % is that of 87.5 %.
func TestTheThrottleForACommandGoesByWhatWasSeenOfALevel(t *testing.T) {
	all := func(low, high float64) (m [4]measure.Interval) {
		for i := range m {
			m[i] = measure.Interval{Low: low, High: high}
		}
		return m
	}
	c := law.Curve{
		Throttle: []float64{0, 0.05, 0.8, 0.9, 1},
		Motors:   [][4]measure.Interval{all(-1, 0), all(0, 0.041), all(0.8, 0.8), all(0.88, 1), all(0.88, 1)},
		Stood:    [][4]float64{{}, {0.04, 0.04, 0.04, 0.04}, {0.8, 0.8, 0.8, 0.8}, {0.88, 0.88, 0.88, 0.88}, {0.88, 0.88, 0.88, 0.88}},
	}
	for _, row := range []struct{ command, throttle float64 }{{0, 0}, {0.01, 0.0125}, {0.04, 0.05}, {0.42, 0.425}, {0.86, 0.875}} {
		at, ok := c.ThrottleFor(row.command)
		assert.True(t, ok)
		assert.InDelta(t, row.throttle, at, 0.0011, "for %g", row.command)
	}
	_, ok := c.ThrottleFor(0.9)
	assert.False(t, ok, "beyond the cap")
}

// By a calibrated curve with a dead zone of 5 % the motors stand at idle at a throttle of 5 %, at 2.6 % at 7.5 % and at 5.3 % at 10 %:
// a floor of 3 % is asked for from 10 % on, where the curve is measured, and not nearer to where it may be below; while it is not measured
// nothing is. Firmware that keeps its motors turning beyond the dead zone is asked for it from 7.5 % on.
func TestAFloorIsAskedOfWhatACalibratedCurveComesTo(t *testing.T) {
	p := bramble()
	p.Floor, p.ThrottleCurve, p.Resolution = new(0.03), law.ThrottleCurveCalibrated, nil
	l := law.New(p, law.Scale{Step: 0.001})
	curve := func(stood ...float64) *law.Curve {
		c := law.Curve{Throttle: []float64{0, 0.05, 0.075, 0.1}}
		for _, x := range stood {
			c.Motors = append(c.Motors, [4]measure.Interval{at(x), at(x), at(x), at(x)})
			c.Stood = append(c.Stood, [4]float64{x, x, x, x})
		}
		return &c
	}
	zone, turning := curve(0, 0, 0.026, 0.053), curve(0, 0, 0.03, 0.053)
	for _, row := range []struct {
		name     string
		curve    *law.Curve
		throttle float64
		asked    bool
	}{
		{"in the dead zone", zone, 0.05, false}, {"beyond it", zone, 0.075, false}, {"between levels", zone, 0.09, false}, {"above the floor", zone, 0.1, true},
		{"kept turning, in the dead zone", turning, 0.05, false}, {"just beyond it", turning, 0.06, false}, {"kept turning", turning, 0.08, true},
		{"not measured", nil, 0.5, false},
	} {
		in := l.Inputs(law.Point{Steer: 8 * deg, Speed: 4, Throttle: row.throttle, Gain: 0.5}, row.curve)
		assert.Equal(t, row.asked, l.At(&in).Lowest.Low >= 0.03, row.name)
	}
}
