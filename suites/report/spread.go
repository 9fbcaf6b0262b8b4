package report

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
)

// spread counts how many of some values in s, sorted, lie in each of about so many rows of a
// round number of milliseconds. The first row begins at first steps; there has to be a value.
func spread(sorted []float64, rows int) (first, step float64, counts []int) {
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

// Rows draws how values in s, sorted, are spread, in rows of a round number of milliseconds,
// about so many: the longest row has width marks.
func Rows(sorted []float64, rows, width int) []string {
	if len(sorted) == 0 {
		return nil
	}
	first, step, counts := spread(sorted, rows)
	most := slices.Max(counts)
	lines := make([]string, len(counts))
	for i, n := range counts {
		marks := strings.Repeat("#", int(math.Ceil(float64(n*width)/float64(most))))
		lines[i] = fmt.Sprintf("%9s ms |%s", Fixed((first+float64(i))*step, Decimals(step)), marks)
		if n > 0 {
			lines[i] += " " + strconv.Itoa(n)
		}
	}
	return lines
}
