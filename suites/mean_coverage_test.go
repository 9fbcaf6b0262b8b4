package suites

import (
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/assertions/measure"
	"hilrig/plant/portable"
	"hilrig/rig/board"
	"hilrig/rig/signal"
	"hilrig/suites/demo"
	"hilrig/suites/language"
)

// heldBy plays a hold to a board whose pulses go over that range, in steps of 1 us.
func heldBy(t *testing.T, seed uint64, b board.Settings, h Hold, idle, full string) *Played {
	t.Helper()
	bench := string(demo.BenchYAML)
	swap(&bench, "idle: 1000 us\n  full: 2000 us\n  with_neutral", "least: 50 us\n  most: 2950 us\n  idle: "+idle+"\n  full: "+full+"\n  with_neutral")
	s, err := Load(Files{
		Car:   language.Source{Path: demo.CarPath, Data: demo.CarYAML},
		Bench: language.Source{Path: demo.BenchPath, Data: []byte(bench)}, Seed: seed,
	})
	require.NoError(t, err)
	us := func(text string) signal.Time {
		n := signal.Time(0)
		for _, c := range strings.TrimSuffix(text, " us") {
			n = 10*n + signal.Time(c-'0')
		}
		return n * signal.Microsecond
	}
	b.MotorIdle, b.MotorFull = us(idle), us(full)
	s.WithBoard("drawn", b)
	p, err := s.Play(t.Context(), h)
	require.NoError(t, err)
	return p
}

// The intervals of shifts hold what the same board with a far finer command comes to over a long time, and are
// not much wider than it takes.
func TestIntervalsOfShiftsHoldTheFinerShift(t *testing.T) {
	held, all, width := 0, 0, 0.0
	var off []float64
	for i := range uint64(5 * coverageBoards) {
		n := portable.NewNoise(i+1, "intervals of shifts")
		draw := func(low, high float64) float64 { return low + (high-low)*float64(n.Uint64()>>11)/(1<<53) }
		b := board.Bramble()
		b.LoopPeriod, b.OutputPeriod = drawTime(&n, 2200*signal.Microsecond, 9*ms), drawTime(&n, 3*ms, 6*ms)
		h := Hold{Speed: draw(2, 5), Steer: draw(0.1, 0.2), Throttle: draw(0.3, 0.6), Gain: draw(0.2, 1), YawRate: draw(0.5, 0.9), OfDemand: true}
		long := h
		long.Observe = 10 * signal.Second
		coarse, fine := heldBy(t, i+1, b, h, "1000 us", "2000 us"), heldBy(t, i+1, b, long, "100 us", "2900 us")
		for m := range coarse.Motors {
			c, f := coarse.Motors[m].Read, fine.Motors[m].Read
			require.NotNil(t, c)
			require.NotNil(t, f)
			if math.Abs(f.Shift) < 0.01 {
				continue
			}
			all++
			off = append(off, math.Abs(c.Shift-f.Shift))
			if off[len(off)-1] <= c.Expanded {
				held++
			}
			width += c.Expanded
		}
	}
	slices.Sort(off)
	takes := measure.Quantile(off, measure.Confidence)
	t.Logf("%d of %d intervals hold it; %.4f %% wide, and %.4f %% take it, ratio %.2f", held, all, 100*width/float64(all), 100*takes, width/float64(all)/takes)
	assert.GreaterOrEqual(t, float64(held), 0.93*float64(all))
	// At rest the built-in board passes whole microseconds on, and stands on a step exactly,
	// which its interval cannot know.
	assert.Less(t, width, 1.7*takes*float64(all))
}
