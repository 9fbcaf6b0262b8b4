package suites

import "math"

// Spread counts how many of some values in s, sorted, lie in each of about so many rows of a
// round number of milliseconds. The first row begins at first steps; there has to be a value.
func Spread(sorted []float64, rows int) (first, step float64, counts []int) {
	low, high := float64(1000*sorted[0]), float64(1000*sorted[len(sorted)-1])
	step = roundStep((high - low) / float64(rows))
	first = math.Floor(low / step)
	counts = make([]int, int(math.Floor(high/step)-first)+1)
	for _, x := range sorted {
		counts[min(int(math.Floor(1000*x/step)-first), len(counts)-1)]++
	}
	return first, step, counts
}

// roundStep returns the least of 1, 2 and 5 times a power of ten that is not
// below x, at least 0.001.
func roundStep(x float64) float64 {
	for step := 0.001; ; step *= 10 {
		for _, f := range []float64{1, 2, 5} {
			if f*step >= x || f*step > 1e6 {
				return f * step
			}
		}
	}
}
