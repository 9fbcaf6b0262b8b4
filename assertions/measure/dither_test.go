package measure_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/assertions/measure"
)

// commands draws what a motor line shows of a command: noise about a value anywhere in a
// step, each turn of a loop sent hold times.
type commands struct {
	name  string
	noise float64 // least and most deviation of the noise, steps: noise to 1.5 noise
	r     float64 // how much each turn has of the one before
	hold  int
	kind  func(random *rand.Rand, turn int) float64 // of deviation 1; nil: normal
}

// play returns n values that are read in steps of 1, and the mean that they stand for.
func (c *commands) play(random *rand.Rand, n int) (x []float64, truth float64) {
	truth = random.Float64()
	size := c.noise * (1 + 0.5*random.Float64())
	v, phase := random.NormFloat64(), random.IntN(1000)
	for i := range n {
		if i%c.hold == 0 {
			if c.kind != nil {
				v = c.kind(random, phase+i/c.hold)
			} else {
				v = c.r*v + math.Sqrt(1-c.r*c.r)*random.NormFloat64()
			}
		}
		x = append(x, math.Round(truth+size*v))
	}
	return x, truth
}

// Intervals of commands with each sort of noise hold the mean that they stand for.
func TestIntervalsOfCommandsHoldTheirMean(t *testing.T) {
	runs := 4000
	if testing.Short() {
		runs = 1000
	}
	toggle := func(_ *rand.Rand, turn int) float64 { return float64(2*(turn%2) - 1) }
	beat := func(_ *rand.Rand, turn int) float64 { return math.Sqrt2 * math.Sin(0.37*float64(turn)) }
	coarse := func(random *rand.Rand, _ int) float64 { return float64(2*random.IntN(2) - 1) }
	for _, c := range []commands{
		{"still", 0, 0, 1, nil},
		{"little noise", 0.05, 0, 1, nil},
		{"some noise", 0.15, 0, 1, nil},
		{"noise", 0.3, 0, 1, nil},
		{"more noise", 0.5, 0, 1, nil},
		{"much noise", 1, 0, 1, nil},
		{"a slower loop", 0.4, 0, 3, nil},
		{"filtered noise", 0.4, 0.7, 1, nil},
		{"much filtered noise", 1, 0.8, 1, nil},
		{"to and fro", 0.5, 0, 1, toggle},
		{"far to and fro", 1, 0, 1, toggle},
		{"a beat", 0.6, 0, 1, beat},
		{"a coarse sensor", 1, 0, 1, coarse},
	} {
		t.Run(c.name, func(t *testing.T) {
			random := rand.New(rand.NewPCG(1, uint64(len(c.name))))
			share, width, takes := coverageOf(runs, func() ([]float64, float64) { return c.play(random, 60+random.IntN(120)) })
			t.Logf("%s", fmt.Sprintf("%.1f %% hold it; %.3f steps wide, and %.3f take it, ratio %.2f", 100*share, width, takes, width/takes))
			assert.GreaterOrEqual(t, share, 0.92)
		})
	}
}

// Of commands that go to and fro between two of the firmware's own steps, and stay at each for long, the interval is no
// wider than it takes to hold both, and then holds the mean.
func TestTheMeanOfTwoLevelsLiesBetweenThem(t *testing.T) {
	const apart, often, upto, widest = 3.0, 0.6, 0.1, 3.0 + 0.1 + 1 // with what reading in steps leaves
	random := rand.New(rand.NewPCG(5, 6))
	bounded := 0
	for range 300 {
		x := []float64{100, 100 + apart}
		for len(x) < 75 {
			at := 100.0
			if random.Float64() < often {
				at += apart
			}
			for range 5 + random.IntN(30) {
				x = append(x, at+upto*random.Float64())
			}
		}
		mean := measure.MeanOfSteps(x, 1, 0)
		require.LessOrEqual(t, mean.Expanded(), widest)
		if mean.Expanded() >= apart {
			bounded++
			assert.InDelta(t, 100+often*apart, mean.Value, mean.Expanded())
		}
	}
	assert.Greater(t, bounded, 100)
}

// coverageOf plays commands and their true mean so often, and returns the share of intervals that
// hold it, their mean half-width, and the one that it takes for [measure.Confidence] of them.
func coverageOf(runs int, play func() (x []float64, truth float64)) (share, width, takes float64) {
	var off []float64
	for range runs {
		x, truth := play()
		mean := measure.MeanOfSteps(x, 1, 0)
		i := mean.Interval()
		if i.Low <= truth && truth <= i.High {
			share += 1 / float64(runs)
		}
		width += i.Width() / 2 / float64(runs)
		off = append(off, math.Abs(mean.Value-truth))
	}
	slices.Sort(off)
	return share, width, measure.Quantile(off, measure.Confidence)
}

// Of all sorts of noise together, drawn evenly or evenly by the logarithm of its size, 93 to
// 98 % of the intervals hold the mean, and they are at most 1.3 times as wide as it takes.
func TestIntervalsOfDrawnCommands(t *testing.T) {
	runs := 20000
	if testing.Short() {
		runs = 5000
	}
	for name, size := range map[string]func(random *rand.Rand) float64{
		"evenly":           func(random *rand.Rand) float64 { return random.Float64() },
		"by the logarithm": func(random *rand.Rand) float64 { return 0.03 * math.Pow(30, random.Float64()) },
	} {
		t.Run(name, func(t *testing.T) {
			random := rand.New(rand.NewPCG(3, 4))
			share, width, takes := coverageOf(runs, func() ([]float64, float64) {
				c := commands{noise: size(random), r: 0.8 * random.Float64(), hold: 1 + random.IntN(3)}
				return c.play(random, 60+random.IntN(120))
			})
			t.Logf("%.1f %% hold it; %.3f steps wide, and %.3f take it, ratio %.2f", 100*share, width, takes, width/takes)
			assert.GreaterOrEqual(t, share, 0.93)
			assert.LessOrEqual(t, share, 0.99)
			assert.LessOrEqual(t, width, 1.3*takes)
		})
	}
}

// Values that go once from one coarse step to the next, filtered, are worth hardly two, but their mean lies between.
func TestAMeanOfCoarseStepsLiesBetweenThem(t *testing.T) {
	x := make([]float64, 300)
	for i := range x {
		x[i] = 0.40 + 0.006/(1+math.Exp(-float64(i-150)/4))
	}
	const step = 1e-4
	assert.Greater(t, measure.MeanOfSteps(x, step, 0).Expanded(), 0.01)
	assert.LessOrEqual(t, measure.MeanOfCoarse(x, step, 0.006, 0).Expanded(), 0.0061)
	assert.Equal(t, measure.MeanOfSteps(x, step, 0), measure.MeanOfCoarse(x, step, 0.004, 0), "farther apart than a step")
}

// What the readings' spread leaves open is told apart from what the instrument does: a mean that is known far better than how
// far its values lie apart is not taken to be known worse for an instrument that is poor.
func TestTheMeanOfCoarseValuesIsNeverWorseForAPoorInstrument(t *testing.T) {
	x := make([]float64, 400)
	for k := range x {
		x[k] = 0.4 + 0.001*float64(k%2)
	}
	good, poor := measure.MeanOfCoarse(x, 0, 0.005, 1e-6), measure.MeanOfCoarse(x, 0, 0.005, 0.01)
	assert.InDelta(t, good.Statistical, poor.Statistical, 1e-12)
	assert.Less(t, poor.Statistical, 1e-4)
}
