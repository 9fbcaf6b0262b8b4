package wire

import "sort"

// Curve says how a channel's value bends on its way to a wire: straight between its points and
// beyond them. The wire then carries the bent value as it would a straight one. Nil is no bend.
type Curve struct {
	points []CurvePoint
}

// CurvePoint is one point of a curve: what a value becomes, both in the channel's SI unit.
type CurvePoint struct{ Value, Bent float64 }

// NewCurve returns the curve through points, at least two, whose values rise and whose bent
// values rise with them. Points in any other order give nil and false.
func NewCurve(points []CurvePoint) (*Curve, bool) {
	for i := 1; i < len(points); i++ {
		if !(points[i].Value > points[i-1].Value) || !(points[i].Bent > points[i-1].Bent) {
			return nil, false
		}
	}
	if len(points) < 2 {
		return nil, false
	}
	return &Curve{points}, true
}

// Bent returns what a value becomes.
func (c *Curve) Bent(value float64) float64 {
	if c == nil {
		return value
	}
	a, b := c.between(func(p *CurvePoint) bool { return p.Value > value })
	return a.Bent + float64((value-a.Value)/(b.Value-a.Value)*(b.Bent-a.Bent))
}

// Value returns the value that becomes bent, the inverse of Bent.
func (c *Curve) Value(bent float64) float64 {
	if c == nil {
		return bent
	}
	a, b := c.between(func(p *CurvePoint) bool { return p.Bent > bent })
	return a.Value + float64((bent-a.Bent)/(b.Bent-a.Bent)*(b.Value-a.Value))
}

// between returns the two points of the part that rules below the first point that is above.
func (c *Curve) between(above func(p *CurvePoint) bool) (a, b *CurvePoint) {
	n := len(c.points)
	i := sort.Search(n, func(i int) bool { return above(&c.points[i]) })
	i = min(max(i, 1), n-1)
	return &c.points[i-1], &c.points[i]
}
