package measure_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/assertions/measure"
	"hilrig/rig/benchtest/drawn"
)

// Half the rate is always told from the full one, with outputs faster than the
// loop, about as fast, and slower.
func TestHalfRateIsDistinguishedFromFullRate(t *testing.T) {
	for i, output := range []float64{2.3e-3, 3e-3, 4.1e-3, 7e-3, 11e-3, 21e-3} {
		if n := sample(1, 3); i%n != 0 || !drawn.Row(i/n, 2) {
			continue
		}
		for _, period := range []float64{4e-3, 8e-3} {
			b := loop{period: period, output: output, step: 0.001, seconds: 5, locked: 0.05}
			u, mean := find(t, b, uint64(i))
			assert.True(t, u.Decided(), "%+v: %+v", b, u)
			assert.True(t, holds(u.Within, mean), "%+v: %+v", b, u)
			assert.Less(t, u.Within.High, 1.5*period)
			assert.Greater(t, u.Within.Low, 0.75*period)
		}
	}
}

// Frames that come once in a whole number of loops show every loop at the same
// point: the loop may have any multiple of the frames' rate.
func TestFramesThatStandStillAgainstTheLoop(t *testing.T) {
	for _, turns := range []float64{3, 1, 2}[:sample(3, 1)] {
		b := loop{period: 4e-3, output: turns * 4e-3, step: 0.001, seconds: 5}
		u, _ := find(t, b, 1)
		assert.True(t, u.Locked, "%v loops a frame: %+v", turns, u)
		assert.InEpsilon(t, b.output, u.Period, 1e-6)
		assert.False(t, u.Decided())
	}
	// The other way about it is no secret: three frames a loop show two repeats.
	u, mean := find(t, loop{period: 12e-3, output: 4e-3, step: 0.001, seconds: 5}, 1)
	assert.True(t, u.Decided(), "%+v", u)
	assert.True(t, holds(u.Within, mean), "%+v", u)
}

// A loop far faster than the frames is seen through too few of its turns. Then
// its neighbours, one turn more or less from frame to frame, are named.
func TestAliasesAreNamed(t *testing.T) {
	const period, output = 0.5e-3, 20.13e-3
	named := 0
	for seed := range uint64(sample(6, 2)) {
		u, mean := find(t, loop{period: period, output: output, step: 0.001, seconds: 5, locked: 0.1}, seed)
		if u.Decided() {
			assert.True(t, holds(u.Within, mean), "%+v", u)
			continue
		}
		if len(u.Aliases) == 0 {
			assert.True(t, u.Unresolved, "%+v", u)
			assert.True(t, holds(u.Within, mean), "%+v", u)
			continue
		}
		named++
		for _, p := range u.Aliases {
			assert.GreaterOrEqual(t, p.Odds, 1.0)
			assert.LessOrEqual(t, p.Odds, 10.0)
			turns := (1/p.Period - 1/u.Period) * output
			assert.InDelta(t, math.Round(turns), turns, 0.02, "%+v", u)
		}
	}
	assert.Positive(t, named)
}

// A loop that is faster than what the output resolves is not made up: it may be
// that, or one that the frames stand still against.
func TestLoopBeyondTheResolution(t *testing.T) {
	for _, period := range []float64{0.05e-3, 0.12e-3}[:sample(2, 1)] {
		b := loop{period: period, output: 2.31e-3, step: 0.004, seconds: 5}
		u, mean := find(t, b, 1)
		assert.True(t, u.Unresolved || u.Locked, "%+v", u)
		assert.Less(t, mean, u.Within.High, "%+v", u)
		assert.Less(t, u.Within.High, 3e-3)
	}
}

// Outputs faster than a slow loop: the ages of the frames spread far, and the
// curve from input to output would be too flat were they not taken into account.
func TestPeriodIsNotBiased(t *testing.T) {
	random := rand.New(rand.NewPCG(8, 8))
	sum := 0.0
	boards := sample(10, 2)
	for i := range uint64(boards) {
		b := loop{period: 0.018 + 0.007*random.Float64(), step: 0.001, seconds: 9, adds: 0.003}
		b.output = b.period * (0.45 + 0.2*random.Float64())
		u, mean := find(t, b, i)
		sum += u.Period/mean - 1
	}
	t.Logf("mean error %.1e", sum/float64(boards))
	assert.InDelta(t, 0, sum/float64(boards), 2e-4)
}

// A lag, a filter of the input, a limit of the output and its sense change
// nothing of what is found.
func TestWhatDoesNotMatter(t *testing.T) {
	base := loop{period: 4e-3, output: 3e-3, step: 0.001, seconds: 5, locked: 0.03}
	frames, mean := base.run(rand.New(rand.NewPCG(4, 4)))
	tests := []struct {
		name   string
		change func(a measure.Answer) measure.Answer
	}{
		{"30 ms late", func(a measure.Answer) measure.Answer { a.At += 30e-3; return a }},
		{"lowered instead of raised", func(a measure.Answer) measure.Answer { a.Value = 1 - a.Value; return a }},
		{"limited below", func(a measure.Answer) measure.Answer { a.Value = max(a.Value, 0.5); return a }},
		{"rounded to 2 %", func(a measure.Answer) measure.Answer { a.Value = math.Round(a.Value*50) / 50; return a }},
		{"limited above", func(a measure.Answer) measure.Answer { a.Value = min(a.Value, 0.6); return a }},
		{"as it is", func(a measure.Answer) measure.Answer { return a }},
	}
	for _, tt := range tests[:sample(6, 4)] {
		t.Run(tt.name, func(t *testing.T) {
			var changed []measure.Answer
			for _, a := range frames {
				changed = append(changed, tt.change(a))
			}
			u, err := measure.UpdatePeriod(played(base.seconds), changed, base.step)
			require.NoError(t, err)
			assert.True(t, holds(u.Within, mean), "%.6f ms: %+v", mean*1000, u)
			assert.InEpsilon(t, mean, u.Period, 0.01, "%+v", u)
		})
	}
}

func TestUpdatePeriodRefuses(t *testing.T) {
	in := played(2)
	frames, _ := loop{period: 4e-3, output: 3e-3, step: 0.001, seconds: 2}.run(rand.New(rand.NewPCG(1, 1)))
	still := append([]measure.Answer(nil), frames...)
	for i := range still {
		still[i].Value = 0.4
	}
	random := append([]measure.Answer(nil), frames...)
	for i := range random {
		random[i].Value = rand.New(rand.NewPCG(uint64(i), 2)).Float64()
	}
	late := append([]measure.Answer(nil), frames...)
	late[30].At = late[29].At
	hole := append([]measure.Answer(nil), frames...)
	hole[30].Value = math.NaN()
	two := append([]measure.Answer(nil), frames...) // levels that tell nothing apart within themselves
	middle := measure.RangeOf()
	for _, f := range two {
		middle.Include(f.Value)
	}
	for i, jitter := 0, rand.New(rand.NewPCG(3, 3)); i < len(two); i++ {
		two[i].Value = math.Copysign(1, two[i].Value-(middle.Low+middle.High)/2) + 0.5*(jitter.Float64()-0.5)
		two[i].Uncertainty = 0.3
	}
	constant := measure.Excitation{Step: 1e-3, Values: make([]float64, 2000)}
	tests := []struct {
		name   string
		in     measure.Excitation
		frames []measure.Answer
		step   float64
		why    string
	}{
		{"nothing played", measure.Excitation{}, frames, 0.001, "what was played is not known"},
		{"few frames", in, frames[:49], 0.001, "49 frames are too few"},
		{"no step", in, frames, 0, "command step of 0"},
		{"out of order", in, late, 0.001, "frame 30"},
		{"no number", in, hole, 0.001, "frame 30"},
		{"no number played", measure.Excitation{Step: 1e-3, Values: append(make([]float64, 20), math.Inf(1))}, frames, 0.001, "no finite number"},
		{"the output stands still", in, still, 0.001, "does not move this output"},
		{"the output moves by itself", in, random, 0.001, "does not move this output"},
		{"two levels alone", in, two, 0.001, "its lowest and its highest values only"},
		{"the input stands still", constant, frames, 0.001, "does not move this output"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			_, err := measure.UpdatePeriod(tt.in, tt.frames, tt.step)
			assert.ErrorContains(t, err, tt.why)
		})
	}
	assert.Zero(t, measure.Explained(in, still, 0.001))
	assert.Less(t, measure.Explained(in, random, 0.001), 0.2)
	assert.Greater(t, measure.Explained(in, frames, 0.001), 0.9)
}

// Whichever explanation of the frames is the right one, its period lies within what holds all of them; each is known as well as the best,
// as a share of itself.
func TestThePeriodLiesWithinWhatHoldsAllExplanations(t *testing.T) {
	u := measure.Updates{Period: 4, Within: measure.Interval{Low: 3.9, High: 4.2}}
	assert.Equal(t, u.Within, u.Whichever())
	u.Aliases = []measure.Peak{{Period: 8}, {Period: 2}}
	assert.InDelta(t, 1.95, u.Whichever().Low, 1e-12) // CALC: 3.9 / 4 * 2
	assert.InDelta(t, 8.4, u.Whichever().High, 1e-12) // CALC: 4.2 / 4 * 8
}
