package report

import (
	"math"
	"strings"
)

// steps are how a value is drawn in one letter, from the lowest to the highest (Unicode block
// elements, U+2581 to U+2588).
var steps = []rune("▁▂▃▄▅▆▇█")

// Strip draws values over time in so many letters, each the mean of its share of them, as high as
// it lies between low and high; a blank where there is none. It has fewer letters where there are
// fewer values.
func Strip(values []float64, low, high float64, width int) string {
	width = min(width, len(values))
	var b strings.Builder
	for i := range width {
		mean := meanOf(values[i*len(values)/width : (i+1)*len(values)/width])
		if math.IsNaN(mean) {
			b.WriteByte(' ')
			continue
		}
		at := 0.5
		if high > low {
			at = (mean - low) / (high - low)
		}
		b.WriteRune(steps[min(len(steps)-1, max(0, int(at*float64(len(steps)))))])
	}
	return strings.TrimRight(b.String(), " ")
}

// meanOf returns the mean of the values that are there, NaN where none is.
func meanOf(values []float64) float64 {
	sum, n := 0.0, 0
	for _, x := range values {
		if !math.IsNaN(x) {
			sum, n = sum+x, n+1
		}
	}
	return sum / float64(n)
}

// Span returns the lowest and the highest of the values that are there; ok is false where none is.
func Span(values ...float64) (low, high float64, ok bool) {
	low, high = math.Inf(1), math.Inf(-1)
	for _, x := range values {
		if !math.IsNaN(x) {
			low, high = min(low, x), max(high, x)
		}
	}
	return low, high, low <= high
}
