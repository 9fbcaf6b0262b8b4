package report

import (
	"math"
	"strconv"
	"strings"

	"hilrig/rig/signal"
	"hilrig/suites/record"
)

// Decimals returns how many decimals show a half-width with two significant digits,
// 0 to 6.
func Decimals(half float64) int {
	if !(half > 0) {
		return 2
	}
	return int(min(6, max(0, 1-math.Floor(math.Log10(half)))))
}

// NotMeasured stands where a number would.
const NotMeasured = "not measured"

// Measured writes a check's estimate with its interval, both to two digits of
// its half-width: "-8.02 % (-8.13 to -7.91)", or that nothing was measured.
func Measured(c *record.Check) string {
	if !c.Measured() {
		return NotMeasured
	}
	n := 2
	if c.Low != nil && c.High != nil {
		n = Decimals((*c.High - *c.Low) / 2)
	}
	text := WithUnit(Fixed(*c.Estimate, n), c.Unit)
	if c.Low == nil && c.High == nil {
		return text
	}
	return text + " (" + end(c.Low, n) + " to " + end(c.High, n) + ")"
}

// Fixed writes x with n decimals, without a negative zero; "any" where it has no end.
func Fixed(x float64, n int) string {
	if math.IsInf(x, 0) {
		return "any"
	}
	text := strconv.FormatFloat(x, 'f', n, 64)
	if strings.Trim(text, "-0.") == "" {
		return strings.TrimPrefix(text, "-")
	}
	return text
}

// end writes one end of an interval; an open one is "any".
func end(x *float64, n int) string {
	if x == nil {
		return "any"
	}
	return Fixed(*x, n)
}

// WithUnit writes a number with its unit behind it, where it has one.
func WithUnit(number, unit string) string { return strings.TrimSuffix(number+" "+unit, " ") }

// Limit writes what a check's estimate is held against: "at least 1 %",
// "between -1 and 1 %". It is empty where both sides are open or nothing was measured.
func Limit(c *record.Check) string {
	switch {
	case !c.Measured():
		return ""
	case c.LimitLow != nil && c.LimitHigh != nil:
		return WithUnit("between "+signal.Digits(*c.LimitLow, 4)+" and "+signal.Digits(*c.LimitHigh, 4), c.Unit)
	case c.LimitLow != nil:
		return WithUnit("at least "+signal.Digits(*c.LimitLow, 4), c.Unit)
	case c.LimitHigh != nil:
		return WithUnit("at most "+signal.Digits(*c.LimitHigh, 4), c.Unit)
	}
	return ""
}
