package report

import (
	"math"
	"strings"

	"hilrig/plant"
	"hilrig/rig/trace"
	"hilrig/suites/language"
	"hilrig/suites/record"
)

// StripOf is one quantity over time in letters.
type StripOf struct {
	Name      string
	Low, High string // the least and the most, with unit; empty where nothing was measured
	Drawn     string
}

// Strips draws what was commanded along a case, in at most width letters: the yaw rate, and then each
// motor, all motors to one scale. Without bins there are none.
func Strips(a *record.Along, width int) (strips []StripOf) {
	if a == nil || len(a.Motors[0].Mean) == 0 {
		return nil
	}
	if yaw := a.Played[trace.YawRate.String()]; len(yaw) > 0 {
		low, high, _ := Span(yaw...)
		strips = append(strips, stripOf("yaw rate", yaw, low, high, width, language.AngularRate))
	}
	var all []float64
	for i := range a.Motors {
		all = append(all, a.Motors[i].Mean...)
	}
	low, high, _ := Span(all...)
	for i, w := range plant.Wheels {
		strips = append(strips, stripOf(w.String(), a.Motors[i].Mean, low, high, width, language.Share))
	}
	return strips
}

// stripOf draws one quantity between bottom and top.
func stripOf(name string, values []float64, bottom, top float64, width int, q language.Quantity) StripOf {
	low, high, ok := Span(values...)
	if !ok {
		return StripOf{Name: name, Drawn: NotMeasured}
	}
	shown := func(x float64) string { return q.Format(math.Round(x*1000) / 1000) } // a strip shows no more
	return StripOf{Name: name, Low: shown(low), High: shown(high), Drawn: Strip(values, bottom, top, width)}
}

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
