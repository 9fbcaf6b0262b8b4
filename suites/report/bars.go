package report

import (
	"math"
	"strings"
)

// barWidth is how many marks fit on each side of a bar's middle.
const barWidth = 10

// Mark returns the share of range that one mark of bars stands for: the least of 0.1, 0.2,
// 0.5, 1, 2, 5 and 10 % with which all shifts, in shares of range, fit.
func Mark(shifts []float64) float64 {
	largest := 0.0
	for _, x := range shifts {
		largest = max(largest, math.Abs(x))
	}
	for _, mark := range []float64{0.001, 0.002, 0.005, 0.01, 0.02, 0.05} {
		if largest <= barWidth*mark {
			return mark
		}
	}
	return 0.1
}

// Bar draws a shift in marks that stand for so much each, lowered to the left of the middle,
// raised to the right.
func Bar(shift, mark float64) string {
	n := int(math.Round(min(barWidth, max(-barWidth, shift/mark))))
	left, right := max(0, -n), max(0, n)
	return strings.TrimRight(strings.Repeat(" ", barWidth-left)+strings.Repeat("#", left)+"|"+strings.Repeat("#", right), " ")
}

// logBarMost is how long the longest bar of a count is, in letters.
const logBarMost = 32

// LogBar draws a count among counts of which most is the largest, so that a single one is seen
// beside a billion.
func LogBar(n, most uint64) string {
	if n == 0 {
		return ""
	}
	length := 1.0
	if most > 1 {
		length += (logBarMost - 1) * math.Log(float64(n)) / math.Log(float64(most))
	}
	return strings.Repeat("#", int(math.Round(length)))
}
