package plots

import (
	"io"
	"math"
	"slices"

	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
)

// Histogram is how readings are spread.
type Histogram struct {
	About   string // what is seen, for those who do not see it
	Axis    string // what is read, with its unit
	Counted string // what is counted, "trials"
	Values  []float64
	Marks   []Mark // At is in the readings' unit: a quantile, a limit
}

const histogramHeight = 90

// SVG draws the histogram. Without readings nothing but the marks is seen.
func (h *Histogram) SVG(w io.Writer) error {
	return paint(w, float64(axisHeight+histogramHeight+16+markHeight*len(h.Marks)), h.About, func(c *canvas) { h.draw(c) })
}

func (h *Histogram) draw(c *canvas) {
	values := slices.DeleteFunc(slices.Clone(h.Values), func(x float64) bool { return math.IsNaN(x) || math.IsInf(x, 0) })
	all := slices.Clone(values)
	for _, m := range h.Marks {
		all = append(all, m.At)
	}
	x := ScaleOf(6, all...)
	classes := ScaleOf(24, all...)
	counts := make([]float64, int(math.Round((x.High-x.Low)/classes.Step))+1)
	for _, v := range values {
		counts[min(len(counts)-1, int((v-x.Low)/classes.Step))]++
	}
	y := ScaleOf(3, append(counts, 0)...)
	bottom, top := vg.Length(axisHeight), vg.Length(axisHeight+histogramHeight)
	up := func(v float64) vg.Length { return bottom + vg.Length(y.At(v))*(top-bottom) }
	for _, v := range y.Ticks() {
		c.line(plotLeft, up(v), plotRight, up(v), 0.5, grid, nil)
		c.write(plotLeft-4, up(v)-3.5, small, 0, text, draw.XRight, y.Number(v))
	}
	c.write(plotLeft, top+5, small, plotRight/2, quiet, draw.XLeft, h.Counted)
	for i, n := range counts {
		if from := x.Low + float64(float64(i)*classes.Step); n > 0 {
			c.box(across(x, from)+0.4, bottom, across(x, from+classes.Step)-0.4, up(n), sky)
		}
	}
	for _, v := range x.Ticks() {
		c.tick(across(x, v), bottom-12, x.Number(v))
	}
	c.line(plotLeft, bottom, plotRight, bottom, 0.7, quiet, nil)
	c.write(plotRight, bottom-25, small, 0, quiet, draw.XRight, h.Axis)
	for i, m := range h.Marks {
		y := c.height - vg.Length(markHeight*(i+1))
		named(c, x, m.At, y, lines[i%2], m.Name)
		c.line(across(x, m.At), bottom, across(x, m.At), y, 1.3, lines[i%2], dashes[i%2])
	}
}
