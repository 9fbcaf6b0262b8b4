package measure

import (
	"cmp"
	"math"
	"slices"
)

// reading is one frame's answer to the question when its value was read.
// Readings stand in the order of time.
type reading struct {
	at    float64 // s, the frame's beginning
	age   float64 // s, by how much earlier the input had the value that explains the frame
	width float64 // s, over which age is spread by the output's resolution
	half  bool    // the frame shares its reading with another that is kept too
	blind bool    // the frame says nothing; age and width are 0
}

// valueStep returns the smallest distance between two of the values that the frames
// take, beyond what the sampler leaves open: a board may round to coarser steps
// than its output can show.
func valueStep(frames []Answer) float64 {
	values := slices.Clone(frames)
	slices.SortFunc(values, func(a, b Answer) int { return cmp.Compare(a.Value, b.Value) })
	smallest := math.Inf(1)
	for i := 1; i < len(values); i++ {
		if !same(&values[i], &values[i-1]) {
			smallest = min(smallest, values[i].Value-values[i-1].Value)
		}
	}
	if math.IsInf(smallest, 1) {
		return 0
	}
	return smallest
}

// unclipped returns the frames without those that stand at a limit of the
// output. A swing that turns of itself leaves about 3 % of the frames within a
// step in 200 of an extreme; where there are far more, it is a limit.
func unclipped(frames []Answer, step float64) []Answer {
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
	return slices.DeleteFunc(slices.Clone(frames), func(f Answer) bool {
		return atLow > limit && f.Value-values.Low < 1.5*step || atHigh > limit && values.High-f.Value < 1.5*step
	})
}

// farthest is how far from the mean lag a frame's reading is looked for, s.
const farthest = 50e-3

// readings works out when each frame's value was read. Frames near the turning
// points of the input, where the output hardly moves, say nothing; nor do those
// in the middle of a run that repeats a value.
func (m *mapping) readings(frames []Answer, step float64) ([]reading, error) {
	slopes := make([]float64, len(frames))
	steep := make([]float64, len(frames))
	for i := range frames {
		slopes[i] = m.slope(frames[i].At - m.lag)
		steep[i] = math.Abs(slopes[i])
	}
	slices.Sort(steep)
	least := steep[len(steep)*9/10] / 2
	if !(least > 0) {
		return nil, errStill
	}
	readings := make([]reading, len(frames))
	said := 0
	for i := range frames {
		f := &frames[i]
		readings[i] = reading{at: f.At, blind: true}
		before := i > 0 && same(f, &frames[i-1])
		after := i+1 < len(frames) && same(f, &frames[i+1])
		if before && after || math.Abs(slopes[i]) < least {
			continue
		}
		t, slope, ok := m.when(f.Value, f.At-m.lag)
		if !ok {
			continue
		}
		width := (step + float64(2*f.Uncertainty)) / math.Abs(slope)
		readings[i] = reading{at: f.At, age: f.At - t, width: width, half: before || after}
		said++
	}
	if said < 30 {
		return nil, errStill
	}
	return readings, nil
}

// informative returns the readings that are not blind.
func informative(readings []reading) []reading {
	return slices.DeleteFunc(slices.Clone(readings), func(r reading) bool { return r.blind })
}

// same says whether two frames carry the same value, as far as can be told.
func same(a, b *Answer) bool { return math.Abs(a.Value-b.Value) <= a.Uncertainty+b.Uncertainty+1e-9 }

// when returns the time nearest to about at which the output should have been v,
// and its slope there, on the rise or fall that about lies on.
func (m *mapping) when(v, about float64) (t, slope float64, ok bool) {
	const h = 0.5e-3
	at := m.value(about)
	rising := m.value(about+h) > at
	dir := h
	if (v > at) != rising {
		dir = -h
	}
	for k := range int(farthest / h) {
		next := m.value(about + float64(float64(k+1)*dir))
		if next == at || (next-at)*dir > 0 != rising {
			return 0, 0, false
		}
		if (v-at)*(v-next) <= 0 {
			part := (v - at) / (next - at)
			return about + float64((float64(k)+part)*dir), (next - at) / dir, true
		}
		at = next
	}
	return 0, 0, false
}
