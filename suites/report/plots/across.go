package plots

import (
	"io"
	"math"

	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
)

// Curve is one quantity over another, in the order in which they came; NaN breaks the line.
type Curve struct {
	Name string
	X, Y []float64
}

// Across is curves over an axis that is no time.
type Across struct {
	About  string // what is seen, for those who do not see it
	X, Y   string // what the axes show, with their units
	Curves []Curve
	Marks  []Mark // At is a value of X
	Equal  bool   // the axes have the same scale, as of a way on the ground
}

const acrossHeight = 150

// SVG draws the curves.
func (a *Across) SVG(w io.Writer) error {
	height := float64(axisHeight + acrossHeight + 2*panelHead + markHeight*len(a.Marks) + 6)
	return paint(w, height, a.About, func(c *canvas) { a.draw(c) })
}

// scales returns both axes; with equal ones the shorter is made as long as the picture asks.
func (a *Across) scales() (x, y Scale) {
	var xs, ys []float64
	for _, k := range a.Curves {
		xs, ys = append(xs, k.X...), append(ys, k.Y...)
	}
	for _, m := range a.Marks {
		xs = append(xs, m.At)
	}
	x, y = ScaleOf(5, xs...), ScaleOf(4, ys...)
	if !a.Equal {
		return x, y
	}
	const wide, high = plotRight - plotLeft, acrossHeight
	perUnit := min(wide/(x.High-x.Low), high/(y.High-y.Low))
	widen(&x, wide/perUnit)
	widen(&y, high/perUnit)
	return x, y
}

// widen makes a scale so long, about its middle.
func widen(s *Scale, length float64) {
	middle := (s.Low + s.High) / 2
	s.Low, s.High = middle-length/2, middle+length/2
	s.Step = ScaleOf(4, s.Low, s.High).Step
}

func (a *Across) draw(c *canvas) {
	x, y := a.scales()
	bottom := vg.Length(axisHeight)
	top := bottom + acrossHeight
	up := func(v float64) vg.Length { return bottom + vg.Length(min(1, max(0, y.At(v))))*(top-bottom) }
	for _, v := range y.within() {
		c.line(plotLeft, up(v), plotRight, up(v), 0.5, grid, nil)
		c.write(plotLeft-4, up(v)-3.5, small, 0, text, draw.XRight, y.Number(v))
	}
	for _, v := range x.within() {
		c.line(across(x, v), bottom, across(x, v), top, 0.5, grid, nil)
		c.tick(across(x, v), bottom-12, x.Number(v))
	}
	c.write(plotRight, bottom-25, small, plotRight, quiet, draw.XRight, a.X)
	c.write(plotLeft, top+4, small, plotRight-plotLeft, quiet, draw.XLeft, a.Y)
	legend := Panel{}
	for _, k := range a.Curves {
		legend.Series = append(legend.Series, Series{Name: k.Name})
	}
	legend.head(c, top+4+panelHead)
	for i, m := range a.Marks {
		foot := c.height - vg.Length(markHeight*(i+1))
		named(c, x, m.At, foot, vermillion, m.Name)
		c.line(across(x, m.At), bottom, across(x, m.At), foot, 0.9, vermillion, dashes[1])
	}
	for i, k := range a.Curves {
		k.draw(c, x, up, i)
	}
}

// draw draws the i-th of the curves.
func (k *Curve) draw(c *canvas, x Scale, up func(float64) vg.Length, i int) {
	var path vg.Path
	pen := false
	for j := range min(len(k.X), len(k.Y)) {
		if math.IsNaN(k.X[j]) || math.IsNaN(k.Y[j]) {
			pen = false
			continue
		}
		at := vg.Point{X: across(x, k.X[j]), Y: up(k.Y[j])}
		if pen {
			path.Line(at)
		} else {
			path.Move(at)
		}
		pen = true
	}
	c.SetLineStyle(draw.LineStyle{Color: lines[i%len(lines)], Width: 1.2, Dashes: dashes[i%len(dashes)]})
	c.Stroke(path)
}
