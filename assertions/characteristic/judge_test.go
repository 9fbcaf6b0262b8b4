package characteristic_test

import (
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"hilrig/assertions"
	"hilrig/assertions/characteristic"
	"hilrig/assertions/measure"
	"hilrig/plant/portable"
	"hilrig/rig/signal"
)

// keys are those of all figures in their order.
var keys = []string{
	"independent_linearity", "least_squares_linearity", "terminal_based_linearity", "zero_based_linearity",
	"start_threshold", "dead_band", "hysteresis", "repeatability", "drift", "saturation", "monotone",
	"first_tenth", "resolution", "delay", "rise_time", "full_output",
}

// judged returns the figures of a set by their keys.
func judged(t require.TestingT, s *characteristic.Set, l characteristic.Limits) map[string]characteristic.Figure {
	figures := characteristic.Judge(s, l, characteristic.Draws{Seed: 1, N: 300})
	of := map[string]characteristic.Figure{}
	var order []string
	for _, f := range figures {
		of[f.Key] = f
		order = append(order, f.Key)
	}
	require.Equal(t, keys, order)
	return of
}

// holds requires a figure whose interval holds a value.
func holds(t *testing.T, f characteristic.Figure, value float64) {
	t.Helper()
	require.True(t, f.Measured(), "%s: %s", f.Key, f.Why)
	assert.LessOrEqual(t, f.Low, value, f.Key)
	assert.GreaterOrEqual(t, f.High, value, f.Key)
}

func undecided(t require.TestingT, f characteristic.Figure, why string) {
	assert.False(t, f.Measured(), f.Key)
	assert.Equal(t, assertions.Undecided, f.Verdict, f.Key)
	assert.Contains(t, f.Why, why, f.Key)
}

// A worked set of readings up and down, and its hysteresis of 4.08163 % of the span from the
// least to the greatest reading, as published in alexlib's metrology notes (READ).
// The lines were computed by a second implementation (CALC); shares are of the same span, 4.9.
func TestFiguresOfAWorkedSet(t *testing.T) {
	s := &characteristic.Set{Held: "worked", Drag: &measure.Estimate{}}
	up, down := []float64{0.1, 1.1, 2.1, 3.0, 4.1, 5.0}, []float64{0.2, 1.2, 2.2, 3.2, 4.2, 5.0}
	for i := range up {
		s.Levels = append(s.Levels, float64(i)/5)
		for d, y := range []float64{up[i], down[i]} {
			s.Readings = append(s.Readings, characteristic.Reading{Level: i, Direction: characteristic.Direction(d), Output: y, Standard: 1e-9})
		}
	}
	of := judged(t, s, characteristic.Limits{Hysteresis: new(0.04)})
	f := of["hysteresis"]
	assert.InDelta(t, 0.0408163, f.Estimate, 1e-7)
	assert.InDelta(t, 0.6, f.At, 1e-12)
	assert.Equal(t, assertions.Fail, f.Verdict)
	undecided(t, of["independent_linearity"], "6 levels: linearity wants 8 or more")

	// With levels between, on the straight lines, the averages are the same characteristic.
	fine := &characteristic.Set{Held: "worked", Drag: &measure.Estimate{}}
	for i := range 11 {
		fine.Levels = append(fine.Levels, float64(i)/10)
		for d, y := range [][]float64{up, down} {
			value := (y[i/2] + y[(i+1)/2]) / 2
			fine.Readings = append(fine.Readings, characteristic.Reading{Level: i, Direction: characteristic.Direction(d), Output: value, Standard: 1e-9})
		}
	}
	of = judged(t, fine, characteristic.Limits{})
	assert.InDelta(t, 0.06/4.9, of["independent_linearity"].Estimate, 1e-7)
	assert.InDelta(t, 0.12/4.9, of["terminal_based_linearity"].Estimate, 1e-7)
	assert.InDelta(t, 0.0666666667/4.9, of["zero_based_linearity"].Estimate, 1e-7)
	assert.Equal(t, assertions.MeasuredOnly, of["hysteresis"].Verdict)
}

func TestVerdictsByTheLimit(t *testing.T) {
	s := play(sharpened, 0.002, 1)
	for _, row := range []struct {
		atMost float64
		want   assertions.Verdict
	}{{0.2, assertions.Pass}, {0.01, assertions.Fail}, {truth(t, sharpened)["independent_linearity"], assertions.Undecided}} {
		of := judged(t, s, characteristic.Limits{Linearity: &characteristic.LinearityLimit{Sense: characteristic.Independent, AtMost: row.atMost}})
		f := of["independent_linearity"]
		assert.Equal(t, row.want, f.Verdict, "at most %g", row.atMost)
		assert.Equal(t, &measure.Interval{High: row.atMost}, f.Limit)
		assert.Contains(t, f.Why, "over 0 % to 100 %, 21 levels")
		assert.False(t, of["terminal_based_linearity"].Limit != nil, "only the sense that was asked")
	}
	of := judged(t, s, characteristic.Limits{FirstTenth: &measure.Interval{Low: 0.8, High: 1.25}})
	assert.Equal(t, assertions.Fail, of["first_tenth"].Verdict)
	holds(t, of["first_tenth"], truth(t, sharpened)["first_tenth"])
}

// What noise is known of comes from repeats: a chi-squared interval of two standard deviations.
func TestRepeatability(t *testing.T) {
	f := judged(t, play(linear, 0.002, 4), characteristic.Limits{})["repeatability"]
	holds(t, f, 0.004)
	assert.InEpsilon(t, 1.36, f.High/f.Low, 0.05, "84 degrees of freedom: sqrt(chi2 of both ends), tables (MEM)")
	s := play(linear, 0.002, 4)
	for i := range s.Readings { // one level that comes out otherwise each time
		if r := &s.Readings[i]; r.Level == 12 && r.Direction == characteristic.Up {
			r.Output += 0.05 * float64(r.Cycle)
		}
	}
	of := judged(t, s, characteristic.Limits{Repeatability: new(0.02)})
	f = of["repeatability"]
	assert.Equal(t, assertions.Fail, f.Verdict)
	assert.InDelta(t, 0.1, f.Estimate, 0.01)
	assert.InDelta(t, 0.6, f.At, 1e-12)
	assert.Contains(t, f.Why, "farther apart than elsewhere")
}

func TestDrift(t *testing.T) {
	s := play(linear, 0.002, 5)
	s.Repeated = []characteristic.Reading{{Level: 4, Output: s.Readings[4].Output - 0.03}}
	f := judged(t, s, characteristic.Limits{Drift: new(0.01)})["drift"]
	holds(t, f, -0.03)
	assert.Equal(t, assertions.Fail, f.Verdict)
	assert.InDelta(t, 2*2*0.002*math.Sqrt2, f.High-f.Low, 0.003)
	s.Repeated[0].Output += 0.03
	assert.Equal(t, assertions.Pass, judged(t, s, characteristic.Limits{Drift: new(0.01)})["drift"].Verdict)
}

// Of two groups of readings in a row the drift is the difference of the means, by Student's t with the spread
// within both: 4 degrees of freedom, 2.776 times 0.01 sqrt(2/3) (table of t, MEM).
func TestDriftOfGroups(t *testing.T) {
	s := play(linear, 0.002, 5)
	for i, off := range []float64{-0.01, 0, 0.01} {
		s.First = append(s.First, characteristic.Reading{Level: 20, Output: 1 + off, Cycle: i})
		s.Repeated = append(s.Repeated, characteristic.Reading{Level: 20, Output: 0.95 - off, Cycle: i})
	}
	f := judged(t, s, characteristic.Limits{Drift: new(0.02)})["drift"]
	assert.Equal(t, assertions.Fail, f.Verdict)
	assert.InDelta(t, -0.05, f.Estimate, 0.001)
	assert.InDelta(t, 2*2.776*0.01*math.Sqrt(2.0/3), f.High-f.Low, 0.003)
	assert.InDelta(t, 1, f.At, 1e-12)
}

func TestSaturationPoint(t *testing.T) {
	f := judged(t, play(saturating, 0.002, 6), characteristic.Limits{})["saturation"]
	holds(t, f, 0.8)
	assert.InDelta(t, 0.8, f.Estimate, 0.005)
	between := func(x float64, _ characteristic.Direction) float64 { return min(x/0.83, 1) }
	f = judged(t, play(between, 0.002, 6), characteristic.Limits{})["saturation"]
	assert.InDelta(t, 0.83, f.Estimate, 0.005)
	assert.InDelta(t, 0.80, f.Low, 1e-12)
	assert.InDelta(t, 0.85, f.High, 1e-12)
	assert.Contains(t, judged(t, play(linear, 0.002, 6), characteristic.Limits{})["saturation"].Why, "still rises at 100 %")
}

func TestMonotone(t *testing.T) {
	monotone := characteristic.Limits{Monotone: true}
	f := judged(t, play(linear, 0.0005, 7), monotone)["monotone"]
	assert.Equal(t, assertions.Pass, f.Verdict)
	assert.Contains(t, f.Why, "each level is significantly higher than those before")
	f = judged(t, play(saturating, 0.002, 7), monotone)["monotone"]
	assert.Equal(t, assertions.Pass, f.Verdict)
	assert.Contains(t, f.Why, "could hide in noise")
	jumping := func(x float64, _ characteristic.Direction) float64 {
		if math.Abs(x-0.6) < 0.02 {
			x += 0.08
		}
		return x
	}
	f = judged(t, play(jumping, 0.002, 7), monotone)["monotone"]
	assert.Equal(t, assertions.Fail, f.Verdict)
	holds(t, f, 0.03)
	assert.InDelta(t, 0.65, f.At, 1e-12, "there it is lower than before")
	f = judged(t, play(linear, 0.05, 7), monotone)["monotone"]
	assert.Equal(t, assertions.Undecided, f.Verdict, "noise hides as much as a step")
}

func TestStartThreshold(t *testing.T) {
	s := play(linear, 0.002, 8)
	s.Starts = []characteristic.Start{{Level: 0.05, Below: 0.045}, {Level: 0.055, Below: 0.05, Cycle: 1}}
	f := judged(t, s, characteristic.Limits{StartThreshold: new(0.06)})["start_threshold"]
	assert.Equal(t, assertions.Pass, f.Verdict)
	assert.InDelta(t, 0.05, f.Estimate, 1e-12)
	assert.Equal(t, []float64{0.045, 0.055}, []float64{f.Low, f.High})

	dead := func(x float64, _ characteristic.Direction) float64 { return max(x-0.12, 0) }
	f = judged(t, play(dead, 0.002, 8), characteristic.Limits{})["start_threshold"]
	holds(t, f, 0.12)
	assert.InDelta(t, 0.05, f.High-f.Low, 1e-12, "between two levels")
	s.Drag, s.DragWhy = nil, "the controller brakes at idle"
	of := judged(t, s, characteristic.Limits{StartThreshold: new(0.06)})
	for _, key := range []string{"start_threshold", "zero_based_linearity", "full_output"} {
		undecided(t, of[key], "the controller brakes at idle")
	}
	holds(t, of["independent_linearity"], 0)
}

// changes adds small changes of command, up and on reversal, that a backlash of the given width
// swallows, and that come through in steps of command otherwise.
func changes(s *characteristic.Set, backlash float64) {
	noise := portable.NewNoise(3, "changes")
	for _, level := range []float64{0.3, 0.7} {
		for cycle := range 3 {
			for _, change := range []float64{0.005, 0.01, 0.02, 0.03, 0.04, 0.06} {
				for _, reversal := range []bool{false, true} {
					f := characteristic.Fine{Level: level, Change: change, Reversal: reversal, Cycle: cycle, Before: level, Output: level + change}
					if reversal {
						f.Change = -change
						f.Output = level - max(change-backlash, 0)
					}
					f.Before += 0.0005 * noise.Norm()
					f.Output += 0.0005 * noise.Norm()
					f.Standard = 0.0005 * math.Sqrt2
					s.Fine = append(s.Fine, f)
				}
			}
		}
	}
}

func TestDeadBandAndResolution(t *testing.T) {
	s := play(linear, 0.0005, 9)
	changes(s, 0.025)
	of := judged(t, s, characteristic.Limits{DeadBand: new(0.015), Resolution: new(0.01)})
	holds(t, of["dead_band"], 0.025)
	assert.Equal(t, []float64{0.02, 0.03}, []float64{of["dead_band"].Low, of["dead_band"].High})
	assert.Equal(t, assertions.Fail, of["dead_band"].Verdict)
	assert.Equal(t, assertions.Pass, of["resolution"].Verdict)
	assert.LessOrEqual(t, of["resolution"].High, 0.005)
	f := judged(t, s, characteristic.Limits{DeadBand: new(0.025)})["dead_band"]
	assert.Equal(t, assertions.Undecided, f.Verdict)
	assert.Contains(t, f.Why, "changes of command of more sizes narrow it")

	s.Fine = nil
	changes(s, 0.2)
	f = judged(t, s, characteristic.Limits{DeadBand: new(0.05)})["dead_band"]
	assert.Equal(t, assertions.Fail, f.Verdict, "no change was followed: %+v", f)
	assert.Contains(t, f.Why, "no change that was played was followed")
	// Noise that hides what small changes do shows neither.
	s = play(linear, 0.05, 9)
	changes(s, 0)
	for i := range s.Fine {
		s.Fine[i].Standard = 0.05
	}
	f = judged(t, s, characteristic.Limits{DeadBand: new(0.02)})["dead_band"]
	assert.Equal(t, assertions.Undecided, f.Verdict)
	assert.Contains(t, f.Why, "cannot be seen through noise")
}

// Student's t of three values, two degrees of freedom: 4.53 standard uncertainties (GUM table
// G.2, from memory).
func TestTimesOfSteps(t *testing.T) {
	s := play(linear, 0.002, 10)
	for i, delay := range []float64{0.010, 0.011, 0.012} {
		s.Steps = append(s.Steps, characteristic.Step{From: 0.2, To: 0.8, Delay: delay, Rise: 0.05, DelayStandard: 1e-5, RiseStandard: 1e-4, Cycle: i})
	}
	of := judged(t, s, characteristic.Limits{Delay: new(0.02), Rise: new(0.04)})
	assert.InDelta(t, 0.011, of["delay"].Estimate, 1e-12)
	assert.InDelta(t, 4.53*0.001/math.Sqrt(3), of["delay"].High-0.011, 2e-5)
	assert.Equal(t, assertions.Pass, of["delay"].Verdict)
	assert.Equal(t, assertions.Fail, of["rise_time"].Verdict)
	assert.InDelta(t, 4*1e-4/math.Sqrt(3), of["rise_time"].High-of["rise_time"].Low, 1e-9, "their own uncertainty is more than their spread")
	s.Steps[1].Delay = math.NaN()
	undecided(t, judged(t, s, characteristic.Limits{Delay: new(0.02)})["delay"], "1 of 3 steps had no answer")
}

// A budget by the formulas of JCGM 100, 5.1: statistical, scale, offset and drag by root sum square (CALC).
func TestFullOutputHasWhatScalesAndShiftsAll(t *testing.T) {
	s := play(linear, 0.002, 11)
	relative := judged(t, s, characteristic.Limits{})
	s.Scale, s.Offset, s.Drag = 0.02, 0.003, &measure.Estimate{Value: 0.1, Statistical: 0.004}
	of := judged(t, s, characteristic.Limits{})
	f := of["full_output"]
	holds(t, f, 1)
	u := math.Sqrt(math.Pow(0.002/math.Sqrt(6), 2) + math.Pow(0.02*f.Estimate, 2) + 0.003*0.003 + 0.004*0.004)
	assert.InEpsilon(t, 4*u, f.High-f.Low, 0.001)
	for _, key := range keys[:4] { // what scales and shifts all alike enters absolute figures only
		a, b := relative[key], of[key]
		assert.Equal(t, []float64{a.Estimate, a.Low, a.High}, []float64{b.Estimate, b.Low, b.High}, key)
	}
	s.Absolute = false
	undecided(t, judged(t, s, characteristic.Limits{})["full_output"], "not absolute")
}

// Coarse readings without noise still have their resolution.
func TestResolutionOfReadingsIsPartOfTheUncertainty(t *testing.T) {
	s := play(linear, 0, 12)
	s.Resolution = 0.02
	for i := range s.Readings {
		s.Readings[i].Output = math.Round(s.Readings[i].Output/s.Resolution) * s.Resolution
	}
	f := judged(t, s, characteristic.Limits{})["independent_linearity"]
	holds(t, f, 0)
	assert.Greater(t, f.High, 0.005)
}

func TestSameSeedSameBits(t *testing.T) {
	s := play(loop, 0.002, 13)
	draws := characteristic.Draws{Seed: 5, N: 100}
	a, b := characteristic.Judge(s, characteristic.Limits{}, draws), characteristic.Judge(s, characteristic.Limits{}, draws)
	for i := range a {
		assert.Equal(t, math.Float64bits(a[i].Low), math.Float64bits(b[i].Low), a[i].Key)
		assert.Equal(t, math.Float64bits(a[i].Estimate), math.Float64bits(b[i].Estimate), a[i].Key)
	}
}

func TestWhatCannotBeJudgedIsUndecided(t *testing.T) {
	drop := func(s *characteristic.Set, status characteristic.Status, why string, levels ...int) {
		for i := range s.Readings {
			if slices.Contains(levels, s.Readings[i].Level) {
				s.Readings[i].Status, s.Readings[i].Why, s.Readings[i].Output = status, why, math.NaN()
			}
		}
	}
	span := func(from, to int) (levels []int) {
		for i := from; i < to; i++ {
			levels = append(levels, i)
		}
		return levels
	}
	for _, row := range []struct {
		name, key, why string
		change         func(s *characteristic.Set)
	}{
		{"nothing", "independent_linearity", "no level was read", func(s *characteristic.Set) { *s = characteristic.Set{} }},
		{"no level reached", "independent_linearity", "no level was read, and 100 % was not reached: too slow", func(s *characteristic.Set) {
			drop(s, characteristic.NotReached, "too slow", span(0, 21)...)
		}},
		{"no levels", "hysteresis", "no level was read", func(s *characteristic.Set) { s.Levels = nil }},
		{"one level", "independent_linearity", "only one level, 100 %, was read, and 95 % was not reached: too slow", func(s *characteristic.Set) {
			drop(s, characteristic.NotReached, "too slow", span(0, 20)...)
		}},
		{"too few levels", "independent_linearity", "over 75 % to 100 %, 6 levels: linearity wants 8 or more", func(s *characteristic.Set) {
			drop(s, characteristic.NotReached, "too slow", span(0, 15)...)
		}},
		{"a hole", "independent_linearity", "50 %, within the range, was dropped: no edges", func(s *characteristic.Set) {
			drop(s, characteristic.Dropped, "no edges", 10)
		}},
		{"a level from one direction only", "hysteresis", "50 %, within the range, was not read from both directions", func(s *characteristic.Set) {
			s.Readings = slices.DeleteFunc(s.Readings, func(r characteristic.Reading) bool { return r.Level == 10 && r.Direction == characteristic.Up })
		}},
		{"one direction only", "hysteresis", "one direction only", func(s *characteristic.Set) {
			s.Readings = slices.DeleteFunc(s.Readings, func(r characteristic.Reading) bool { return r.Direction == characteristic.Down })
		}},
		{"one cycle", "independent_linearity", "each level was read once", func(s *characteristic.Set) {
			s.Readings = slices.DeleteFunc(s.Readings, func(r characteristic.Reading) bool { return r.Cycle > 0 })
		}},
		{"a repeated level", "independent_linearity", "level 20 % stands there twice", func(s *characteristic.Set) { s.Levels[5] = s.Levels[4] }},
		{"levels that do not ascend", "saturation", "levels have to ascend", func(s *characteristic.Set) { s.Levels[5] = 0.01 }},
		{"a level that is no number", "first_tenth", "level 6 is no number", func(s *characteristic.Set) { s.Levels[5] = math.NaN() }},
		{"zero span", "independent_linearity", "its span is 0", func(s *characteristic.Set) {
			for i := range s.Readings {
				s.Readings[i].Output = 1
			}
		}},
		{"a span within noise", "repeatability", "its span is 0", func(s *characteristic.Set) {
			for i := range s.Readings {
				s.Readings[i].Output = float64(i*7919%13) / 13
			}
		}},
		{"no small changes", "dead_band", "no small changes", func(*characteristic.Set) {}},
		{"no steps", "delay", "no step was played", func(*characteristic.Set) {}},
		{"no drift", "drift", "not read again", func(*characteristic.Set) {}},
		{"a search that found nothing", "start_threshold", "no search found", func(s *characteristic.Set) {
			s.Starts = []characteristic.Start{{Level: math.NaN()}, {Level: 0.1, Below: 0.2}}
		}},
	} {
		s := play(linear, 0.002, 14)
		s.DragWhy = ""
		row.change(s)
		if s.Drag == nil {
			s.Drag = &measure.Estimate{}
		}
		t.Run(row.name, func(t *testing.T) { undecided(t, judged(t, s, characteristic.Limits{})[row.key], row.why) })
	}
}

// Levels that were not reached at the lower end, as at a held speed, leave a shorter range.
func TestLinearityOverTheLevelsThatWereReached(t *testing.T) {
	s := play(linear, 0.002, 15)
	for i := range s.Readings {
		if r := &s.Readings[i]; r.Level < 5 || r.Level == 5 && r.Direction == characteristic.Up {
			r.Status, r.Why = characteristic.NotReached, "too slow"
		}
	}
	f := judged(t, s, characteristic.Limits{})["independent_linearity"]
	holds(t, f, 0)
	assert.Contains(t, f.Why, "over 30 % to 100 %, 15 levels")
	// One cycle lost changes nothing but the interval.
	s = play(linear, 0.002, 15)
	s.Readings = slices.DeleteFunc(s.Readings, func(r characteristic.Reading) bool { return r.Cycle == 2 && r.Level > 7 })
	holds(t, judged(t, s, characteristic.Limits{})["independent_linearity"], 0)
}

// Whatever readings hold, there is no panic, each figure is whole or none at all, and an estimate
// lies in its interval.
func TestNoReadingsBreakAFigure(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		number := rapid.OneOf(rapid.Float64Range(-1, 1), rapid.Float64Range(0, 1), rapid.Float64(), rapid.SampledFrom([]float64{0, 0, 1, math.NaN(), math.Inf(1), -1, 1e300, 1e-300}))
		levels := rapid.IntRange(0, 12).Draw(t, "levels")
		s := &characteristic.Set{Resolution: rapid.SampledFrom([]float64{0, 0.1, math.NaN()}).Draw(t, "resolution"), Absolute: true}
		good := rapid.Bool().Draw(t, "good")
		for i := range levels {
			x := float64(i) / float64(levels)
			if !good {
				x = number.Draw(t, "level")
			}
			s.Levels = append(s.Levels, x)
		}
		for cycle := range rapid.IntRange(0, 3).Draw(t, "cycles") {
			for i := range levels {
				for _, d := range []characteristic.Direction{characteristic.Up, characteristic.Down, characteristic.Direction(rapid.IntRange(0, 3).Draw(t, "direction"))} {
					y := float64(i) + rapid.Float64Range(-0.1, 0.1).Draw(t, "noise")
					if !good || rapid.IntRange(0, 20).Draw(t, "odd") == 0 {
						y = number.Draw(t, "output")
					}
					s.Readings = append(s.Readings, characteristic.Reading{
						Level: i + rapid.SampledFrom([]int{0, 0, 0, 0, 0, -1, 1, 50}).Draw(t, "off"), Direction: d, Cycle: cycle, Output: y,
						Standard: max(number.Draw(t, "standard"), 0), Status: rapid.SampledFrom([]characteristic.Status{0, 0, 0, 0, 1, 2}).Draw(t, "status"),
					})
				}
			}
		}
		if rapid.Bool().Draw(t, "drag") {
			s.Drag = &measure.Estimate{Value: number.Draw(t, "drag"), Statistical: number.Draw(t, "u")}
		}
		for range rapid.IntRange(0, 4).Draw(t, "others") {
			s.Fine = append(s.Fine, characteristic.Fine{Level: number.Draw(t, "at"), Change: number.Draw(t, "change"), Output: number.Draw(t, "after"), Reversal: rapid.Bool().Draw(t, "reversal")})
			s.Steps = append(s.Steps, characteristic.Step{Delay: number.Draw(t, "delay"), Rise: number.Draw(t, "rise"), DelayStandard: number.Draw(t, "u")})
			s.Starts = append(s.Starts, characteristic.Start{Level: number.Draw(t, "moved"), Below: number.Draw(t, "below")})
			s.First = append(s.First, characteristic.Reading{Level: rapid.IntRange(-1, 13).Draw(t, "first"), Output: number.Draw(t, "at first")})
			s.Repeated = append(s.Repeated, characteristic.Reading{Level: rapid.IntRange(-1, 13).Draw(t, "again"), Output: number.Draw(t, "repeated"), At: signal.Second})
		}
		one := 0.1
		limits := characteristic.Limits{Linearity: &characteristic.LinearityLimit{AtMost: 0.1}, StartThreshold: &one, DeadBand: &one, Hysteresis: &one, Drift: &one, Monotone: true, Delay: &one, FirstTenth: &measure.Interval{Low: 0.5, High: 2}}
		figures := characteristic.Judge(s, limits, characteristic.Draws{N: 20})
		require.Len(t, figures, len(keys))
		for _, f := range figures {
			require.NotEmpty(t, f.Verdict, f.Key)
			require.NotEmpty(t, f.Quantity, f.Key)
			if !f.Measured() {
				require.Equal(t, assertions.Undecided, f.Verdict, f.Key)
				require.NotEmpty(t, f.Why, f.Key)
				continue
			}
			require.True(t, f.Low <= f.Estimate && f.Estimate <= f.High, "%+v", f)
			require.False(t, math.IsInf(f.High-f.Low, 0), "%+v", f)
		}
		if table, err := characteristic.Correct(s); err == nil {
			require.True(t, slices.IsSorted(table.In) && slices.IsSorted(table.Out))
		}
	})
}
