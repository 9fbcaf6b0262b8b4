package main

import (
	"math"
	"strconv"
	"strings"

	"hilrig/rig/signal"
	"hilrig/suites/record"
)

// digits writes a whole number.
func digits(n int) string { return strconv.Itoa(n) }

// decimals returns how many decimals show a half-width with two significant digits,
// 0 to 6.
func decimals(half float64) int {
	if !(half > 0) {
		return 2
	}
	return int(min(6, max(0, 1-math.Floor(math.Log10(half)))))
}

// notMeasured stands where a number would.
const notMeasured = "not measured"

// measured writes a check's estimate with its interval, both to two digits of
// its half-width: "-8.02 % (-8.13 to -7.91)", or that nothing was measured.
func measured(c *record.Check) string {
	if !c.Measured() {
		return notMeasured
	}
	n := 2
	if c.Low != nil && c.High != nil {
		n = decimals((*c.High - *c.Low) / 2)
	}
	text := fixed(*c.Estimate, n) + unit(c.Unit)
	if c.Low == nil && c.High == nil {
		return text
	}
	return text + " (" + end(c.Low, n) + " to " + end(c.High, n) + ")"
}

// fixed writes x with n decimals, without a negative zero.
func fixed(x float64, n int) string {
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
	return fixed(*x, n)
}

// unit writes a unit behind a number.
func unit(u string) string {
	if u == "" {
		return ""
	}
	return " " + u
}

// limit writes what a check's estimate is held against: "at least 1 %",
// "between -1 and 1 %". It is empty where both sides are open or nothing was measured.
func limit(c *record.Check) string {
	switch {
	case !c.Measured():
		return ""
	case c.LimitLow != nil && c.LimitHigh != nil:
		return "between " + signal.Digits(*c.LimitLow, 4) + " and " + signal.Digits(*c.LimitHigh, 4) + unit(c.Unit)
	case c.LimitLow != nil:
		return "at least " + signal.Digits(*c.LimitLow, 4) + unit(c.Unit)
	case c.LimitHigh != nil:
		return "at most " + signal.Digits(*c.LimitHigh, 4) + unit(c.Unit)
	}
	return ""
}
