package plots

import (
	"io"
	"math"

	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
)

// Bar is one estimate with its interval and the limits that it is held against; what is open or not known is
// infinite or NaN.
type Bar struct {
	Name                string
	Says                string // at the right of the name, as the estimate in figures
	Estimate, Low, High float64
	LimitLow, LimitHigh float64
}

// Bars are estimates in one unit, one below the other.
type Bars struct {
	About    string // what is seen, for those who do not see it
	Axis     string // what the axis shows, with its unit
	FromZero bool   // bars begin at 0, as of lengths of time
	Bars     []Bar
}

// How high a bar is with its name, and how much more where its name has no room beside its figures.
const (
	barHeight  = 27
	lineHeight = 11
)

// Height returns how high the picture is, in the unit of [Width].
func (b *Bars) Height() float64 {
	height := float64(axisHeight + 2)
	for i := range b.Bars {
		height += float64(b.Bars[i].height())
	}
	return height
}

// height returns how high a bar is.
func (k *Bar) height() vg.Length {
	if k.long() {
		return barHeight + lineHeight
	}
	return barHeight
}

// long says whether a bar's name and its figures have no room beside each other.
func (k *Bar) long() bool {
	s := style(small, text)
	return wider*(s.Width(plain(k.Name))+s.Width(plain(k.Says))) > plotRight-16
}

// SVG draws the bars.
func (b *Bars) SVG(w io.Writer) error {
	return paint(w, b.Height(), b.About, func(c *canvas) { b.draw(c) })
}

func (b *Bars) draw(c *canvas) {
	var all []float64
	if b.FromZero {
		all = append(all, 0)
	}
	for _, k := range b.Bars {
		all = append(all, k.Estimate, k.Low, k.High, k.LimitLow, k.LimitHigh)
	}
	x := ScaleOf(5, all...)
	at := func(v float64) vg.Length { return 8 + vg.Length(min(1, max(0, x.At(v))))*(plotRight-16) }
	for _, v := range x.Ticks() {
		c.line(at(v), axisHeight, at(v), c.height-2, 0.5, grid, nil)
		c.tick(at(v), axisHeight-12, x.Number(v))
	}
	c.line(8, axisHeight, plotRight-8, axisHeight, 0.7, quiet, nil)
	c.write(plotRight, axisHeight-25, small, plotRight-8, quiet, draw.XRight, b.Axis)
	y := c.height - 2
	for i := range b.Bars {
		b.Bars[i].draw(c, y, at, b.FromZero)
		y -= b.Bars[i].height()
	}
}

// draw draws a bar below y.
func (k *Bar) draw(c *canvas, y vg.Length, at func(float64) vg.Length, fromZero bool) {
	if k.long() {
		c.write(8, y-10, small, plotRight-16, text, draw.XLeft, k.Name)
		y -= lineHeight
		c.write(plotRight, y-10, small, plotRight-16, text, draw.XRight, k.Says)
	} else {
		c.write(plotRight, y-10, small, 0, text, draw.XRight, k.Says)
		c.write(8, y-10, small, 0, text, draw.XLeft, k.Name)
	}
	middle := y - 18
	finite := func(v float64) bool { return !math.IsNaN(v) && !math.IsInf(v, 0) }
	if finite(k.LimitLow) && finite(k.LimitHigh) {
		c.box(at(k.LimitLow), middle-5, at(k.LimitHigh), middle+5, band)
	}
	if fromZero {
		c.box(at(0), middle-3, at(k.Estimate), middle+3, sky)
	}
	if finite(k.Low) && finite(k.High) {
		c.line(at(k.Low), middle, at(k.High), middle, 1.4, blue, nil)
		for _, end := range []float64{k.Low, k.High} {
			c.line(at(end), middle-3, at(end), middle+3, 1.2, blue, nil)
		}
	}
	c.DrawGlyph(draw.GlyphStyle{Color: blue, Radius: 2.2, Shape: draw.CircleGlyph{}}, vg.Point{X: at(k.Estimate), Y: middle})
	for _, limit := range []float64{k.LimitLow, k.LimitHigh} {
		if finite(limit) {
			c.line(at(limit), middle-5, at(limit), middle+5, 1.8, vermillion, nil)
		}
	}
}
