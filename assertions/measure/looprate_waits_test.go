package measure_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/assertions/measure"
)

// waiter is a board as far as changes wait for its loop's turns.
type waiter struct {
	period float64 // s
	wander float64 // of each period, share of it, evenly spread either way, which adds up
	locked float64 // of each turn about its grid, share of period, rms
	late   int     // one turn in so many comes late by 0.6 periods; 0: none
	output float64 // s, from frame to frame
	delay  float64 // s, from a turn to when a frame can carry it
}

// waits plays n changes at moments drawn at random.
func (w waiter) waits(random *rand.Rand, n int) []measure.Wait {
	frame, grid, at := w.output*random.Float64(), w.period*random.Float64(), 0.1
	turn := grid
	var all []measure.Wait
	for len(all) < n {
		at += 3*w.period + 9*w.output + 8e-3 + (2*w.period+2*w.output)*random.Float64()
		for turn < at {
			grid += w.period * (1 + w.wander*(2*random.Float64()-1))
			turn = grid + w.locked*w.period*random.NormFloat64()
			if w.late > 0 && random.IntN(w.late) == 0 {
				turn += 0.6 * w.period
			}
		}
		for frame < turn+w.delay {
			frame += w.output
		}
		all = append(all, measure.Wait{At: at, Before: frame - w.output - at, After: frame - at})
	}
	return all
}

// updatesOf returns what waits show.
func updatesOf(t *testing.T, waits []measure.Wait) (measure.Updates, bool) {
	t.Helper()
	var before, after []float64
	for _, w := range waits {
		before, after = append(before, w.Before), append(after, w.After)
	}
	parts, ok := measure.SeparateResponse(before, after)
	require.True(t, ok)
	return measure.PeriodOfWaits(waits, parts)
}

// Waits for turns that follow on each other tell the mean period about as well as the turns
// themselves do, where frames come at least about as often as turns.
func TestPeriodOfWaits(t *testing.T) {
	random := rand.New(rand.NewPCG(7, 31))
	n := sample(120, 3)
	decided, right := 0, 0
	for i := range n {
		w := waiter{period: 1 / (120 * math.Pow(1500.0/120, random.Float64())), delay: 0.3e-3 * random.Float64()}
		w.output = max(w.period*0.25*math.Pow(6, random.Float64()), 125e-6)
		if random.IntN(3) == 0 {
			w.locked = 0.05 * random.Float64()
		} else {
			w.wander = 0.03
		}
		if random.IntN(2) == 0 {
			w.late = 100
		}
		waits := w.waits(random, 204)
		u, ok := updatesOf(t, waits)
		if !ok {
			continue
		}
		decided++
		if holds(u.Within, w.period) {
			right++
		} else {
			t.Logf("board %d: %+v is not %+v", i, w, u)
		}
		assert.InEpsilon(t, w.period, u.Period, 0.01, "board %d: %+v", i, w)
		if w.wander > 0 {
			turns := (waits[len(waits)-1].At - waits[0].At) / w.period
			oracle := 2 * 2.576 * w.wander / math.Sqrt(3) / math.Sqrt(turns) * w.period
			assert.Less(t, u.Within.Width(), 2*oracle, "board %d: %+v", i, w)
		}
	}
	t.Logf("%d boards, %d decided, %d of them right", n, decided, right)
	assert.GreaterOrEqual(t, decided, n*4/5)
	assert.GreaterOrEqual(t, right, decided-max(1, decided/50))
}

// One clock gives turns and frames, so that they meet at few phases: the period is that of the turns, or it
// is left open, and never that of other turns which meet the frames as often.
func TestPeriodOfWaitsOnOneClock(t *testing.T) {
	random := rand.New(rand.NewPCG(5, 21))
	n := sample(360, 2)
	decided := 0
	ratios := [][2]float64{{4e-3, 10e-3}, {4e-3, 6e-3}, {2e-3, 5e-3}, {3e-3, 10e-3}, {2.5e-3, 4e-3}, {4e-3, 3e-3}}
	for i := range n {
		r := ratios[i%len(ratios)]
		w := waiter{period: r[0], output: r[1], delay: 1e-3 * random.Float64()}
		u, ok := updatesOf(t, w.waits(random, 204))
		if !ok {
			continue
		}
		decided++
		assert.True(t, holds(u.Within, w.period), "board %d: %+v is not %+v", i, w, u)
	}
	t.Logf("%d of %d decided", decided, n)
	assert.GreaterOrEqual(t, decided, n/2)
}

// What the waits do not tell is not made up: turns that do not follow on each other, frames that
// stand still against the loop, and waits for nothing but the frames.
func TestWaitsThatShowNoPeriod(t *testing.T) {
	random := rand.New(rand.NewPCG(3, 8))
	const period, output = 4e-3, 2.7e-3
	var drawn []measure.Wait
	frame, at := 0.0, 0.1
	for len(drawn) < 204 {
		at += 40e-3 + 15e-3*random.Float64()
		turn := at + period*random.Float64()
		for frame < turn {
			frame += output
		}
		drawn = append(drawn, measure.Wait{At: at, Before: frame - output - at, After: frame - at})
	}
	for _, tt := range []struct {
		name  string
		waits []measure.Wait
	}{
		{"turns that do not follow on each other", drawn},
		{"two turns a frame", waiter{period: period, output: 2 * period}.waits(random, 204)},
		{"a loop far faster than the frames", waiter{period: 0.1e-3, output: output}.waits(random, 204)},
		{"few", waiter{period: period, output: output}.waits(random, 40)},
	} {
		t.Run(tt.name, func(t *testing.T) {
			u, ok := updatesOf(t, tt.waits)
			assert.False(t, ok, "%+v", u)
		})
	}
	_, ok := measure.PeriodOfWaits(drawn, measure.Parts{})
	assert.False(t, ok, "no parts")
	drawn[7].At = math.NaN()
	_, ok = measure.PeriodOfWaits(drawn, measure.Parts{Loop: period, LoopWithin: measure.Interval{Low: period, High: period}})
	assert.False(t, ok, "no number")
}
