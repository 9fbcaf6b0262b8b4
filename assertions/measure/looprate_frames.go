package measure

import (
	"cmp"
	"math"
	"slices"
)

// shown is one frame as the search for a loop sees it, in the order of time.
type shown struct {
	at    float64 // s, the frame's beginning
	turns float64 // s, where it stands for the loop's turns; the same but for a loop that stands still
	value float64
	half  float64 // of what the value stands for either way: half a step and the sampler's uncertainty
	same  bool    // it repeats the value of the frame before
	gap   bool    // frames are missing before it
}

// valueStep returns the smallest distance between two of the values that the frames
// take, beyond what the sampler leaves open: a board may round to coarser steps
// than its output can show.
func valueStep(frames []Answer, step float64) float64 {
	values := slices.Clone(frames)
	slices.SortFunc(values, func(a, b Answer) int { return cmp.Compare(a.Value, b.Value) })
	smallest := math.Inf(1)
	for i := 1; i < len(values); i++ {
		if !same(&values[i], &values[i-1], step) {
			smallest = min(smallest, values[i].Value-values[i-1].Value)
		}
	}
	if math.IsInf(smallest, 1) {
		return 0
	}
	return smallest
}

// clipped says of each frame whether it stands at a limit of the output. A swing that
// turns of itself leaves about 3 % of the frames within a step in 200 of an extreme;
// where there are far more, it is a limit.
func clipped(frames []Answer, step float64) func(f *Answer) bool {
	values := RangeOf()
	for _, f := range frames {
		values.Include(f.Value)
	}
	atLow, atHigh := 0.0, 0.0
	for _, f := range frames {
		if f.Value-values.Low < step {
			atLow++
		}
		if values.High-f.Value < step {
			atHigh++
		}
	}
	limit := 0.1 * float64(len(frames))
	return func(f *Answer) bool {
		return atLow > limit && f.Value-values.Low < 1.5*step || atHigh > limit && values.High-f.Value < 1.5*step
	}
}

// unclipped returns the frames that do not stand at a limit of the output.
func unclipped(frames []Answer, step float64) []Answer {
	at := clipped(frames, step)
	return slices.DeleteFunc(slices.Clone(frames), func(f Answer) bool { return at(&f) })
}

// showing returns the frames without those in the middle of a run that repeats a value:
// its first and its last say the same.
func showing(frames []Answer, step float64) []shown {
	at := clipped(frames, step)
	kept := make([]shown, 0, len(frames))
	missing := true
	for i := range frames {
		f := &frames[i]
		if at(f) {
			missing = true
			continue
		}
		before := !missing && same(f, &frames[i-1], step)
		after := i+1 < len(frames) && same(f, &frames[i+1], step) && !at(&frames[i+1])
		if before && after {
			continue
		}
		kept = append(kept, shown{at: f.At, turns: f.At, value: f.Value, half: step/2 + f.Uncertainty, same: before, gap: missing})
		missing = false
	}
	return kept
}

// same says whether two frames carry the same value, as far as can be told: widths differ
// by a nanosecond or two by nothing but the rounding of two clocks.
func same(a, b *Answer, step float64) bool {
	return math.Abs(a.Value-b.Value) <= a.Uncertainty+b.Uncertainty+float64(0.3*step)
}
