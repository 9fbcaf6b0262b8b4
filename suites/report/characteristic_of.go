package report

import (
	"slices"

	"hilrig/assertions/characteristic"
	"hilrig/assertions/measure"
)

// outputs are what is measured, by its unit.
var outputs = map[string]string{"N m": "torque", "rad/s2": "angular acceleration", "A": "current"}

// senses are the words of the straight lines.
var senses = map[characteristic.Sense]string{
	characteristic.Independent:   "independent",
	characteristic.LeastSquares:  "least squares",
	characteristic.TerminalBased: "terminal-based",
	characteristic.ZeroBased:     "zero-based",
}

// CharacteristicOf returns readings under one held condition as they are drawn, with the
// straight lines of the linearity figures. The line of the sense that is asked comes
// first, and has the limit's band about it; where none is asked it is the independent one.
func CharacteristicOf(s *characteristic.Set, l characteristic.Limits) *Characteristic {
	c := &Characteristic{Held: s.Held, Unit: s.Unit, Output: "output"}
	if name, ok := outputs[s.Unit]; ok {
		c.Output = name
	}
	c.Title = c.Output + " over throttle"
	for _, r := range s.Readings {
		if r.Status == characteristic.Read && r.Level >= 0 && r.Level < len(s.Levels) {
			c.Points = append(c.Points, Point{s.Levels[r.Level], r.Output, r.Direction == characteristic.Down})
		}
	}
	over := characteristic.RangeOf(s)
	x, y := over.Commands, over.Averages
	c.Span = over.Span
	for _, command := range s.Levels {
		if !slices.ContainsFunc(c.Points, func(p Point) bool { return p.Command == command }) {
			c.Unread = append(c.Unread, command)
		}
	}
	first := characteristic.Independent
	if l.Linearity != nil {
		first, c.Band = l.Linearity.Sense, l.Linearity.AtMost
	}
	for _, sense := range characteristic.Senses() {
		line, ok := straight(sense, x, y)
		if !ok {
			continue
		}
		drawn := StraightLine{senses[sense], line.Intercept, line.Slope, x[0], x[len(x)-1]}
		if sense == first {
			c.Lines = slices.Insert(c.Lines, 0, drawn)
		} else {
			c.Lines = append(c.Lines, drawn)
		}
	}
	return c
}

// straight returns the straight line of one sense.
func straight(sense characteristic.Sense, x, y []float64) (measure.Straight, bool) {
	switch sense {
	case characteristic.LeastSquares:
		return measure.LeastSquaresLine(x, y)
	case characteristic.TerminalBased:
		return measure.TerminalLine(x, y)
	case characteristic.ZeroBased:
		return measure.ZeroBasedLine(x, y)
	}
	return measure.IndependentLine(x, y)
}
