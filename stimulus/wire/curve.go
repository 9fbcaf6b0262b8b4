package wire

import "sort"

// Curve says how a channel's value bends on its way to a wire: straight between its points and
// beyond them. The wire then carries the mapped value as it would a straight one. A nil curve changes nothing.
type Curve struct {
	points []CurvePoint
}

// CurvePoint is one point of a curve: what a value becomes, both in the channel's SI unit.
type CurvePoint struct{ Value, Mapped float64 }

// NewCurve returns the curve through points, at least two, whose values rise and whose mapped
// values rise with them. Points in any other order give nil and false.
func NewCurve(points []CurvePoint) (*Curve, bool) {
	for i := 1; i < len(points); i++ {
		if !(points[i].Value > points[i-1].Value) || !(points[i].Mapped > points[i-1].Mapped) {
			return nil, false
		}
	}
	if len(points) < 2 {
		return nil, false
	}
	return &Curve{points}, true
}

// Mapped returns what a value becomes.
func (c *Curve) Mapped(value float64) float64 {
	if c == nil {
		return value
	}
	a, b := c.between(func(p *CurvePoint) bool { return p.Value > value })
	return a.Mapped + float64((value-a.Value)/(b.Value-a.Value)*(b.Mapped-a.Mapped))
}

// Value returns the value that becomes mapped, the inverse of Mapped.
func (c *Curve) Value(mapped float64) float64 {
	if c == nil {
		return mapped
	}
	a, b := c.between(func(p *CurvePoint) bool { return p.Mapped > mapped })
	return a.Value + float64((mapped-a.Mapped)/(b.Mapped-a.Mapped)*(b.Value-a.Value))
}

// between returns the two points of the part that rules below the first point that is above.
func (c *Curve) between(above func(p *CurvePoint) bool) (a, b *CurvePoint) {
	n := len(c.points)
	i := sort.Search(n, func(i int) bool { return above(&c.points[i]) })
	i = min(max(i, 1), n-1)
	return &c.points[i-1], &c.points[i]
}
