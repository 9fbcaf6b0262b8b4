package measure

import "math"

// Interval is a range of a quantity, both ends included. Used as a limit, an
// end may be infinite.
type Interval struct {
	Low, High float64
}

// RangeOf returns the least interval that holds all of values: of none it is empty, from +Inf
// to -Inf; where one is not a number, neither are its ends.
func RangeOf(values ...float64) Interval {
	i := Interval{math.Inf(1), math.Inf(-1)}
	i.Include(values...)
	return i
}

// Include widens i to hold all of values.
func (i *Interval) Include(values ...float64) {
	for _, x := range values {
		i.Low, i.High = min(i.Low, x), max(i.High, x)
	}
}

// Within returns the interval of what lies within ±by of middle.
func Within(middle, by float64) Interval { return Interval{middle - by, middle + by} }

// Width returns the distance between the ends.
func (i Interval) Width() float64 { return i.High - i.Low }

// Decision is what an interval says about a limit.
type Decision uint8

// The decisions. The zero value decides nothing.
const (
	Across  Decision = iota // partly inside, or not a number: neither is shown
	Inside                  // the limit is kept
	Outside                 // the limit is not kept
)

var decisionNames = [...]string{"across", "inside", "outside"}

// String returns the decision's word.
func (d Decision) String() string { return decisionNames[d] }

// Against decides with a guard band whether a quantity that lies in i keeps
// limit: Inside when i lies wholly in it, Outside when wholly out of it, else
// Across. An interval with an end that is not a number, or that is not finite,
// is never Inside.
func (i Interval) Against(limit Interval) Decision {
	switch {
	case math.IsNaN(i.Low), math.IsNaN(i.High), i.Low > i.High, math.IsNaN(limit.Low), math.IsNaN(limit.High):
		return Across
	case i.Low > limit.High, i.High < limit.Low:
		return Outside
	case math.IsInf(i.Low, 0), math.IsInf(i.High, 0):
		return Across
	case i.Low >= limit.Low && i.High <= limit.High:
		return Inside
	}
	return Across
}
