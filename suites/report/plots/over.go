package plots

import (
	"image/color"
	"io"
	"math"
	"slices"

	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
)

// Series is one quantity over time.
type Series struct {
	Name, Unit string
	At         []float64 // s
	Value      []float64 // NaN: there is none
	Low, High  []float64 // the least and the most about At; nil: no band is drawn
	Stepped    bool      // a value holds until the next
	Marked     bool      // each value has a mark
}

// Panel is one of the plots of a picture, which share their axis of time.
type Panel struct {
	Name   string // "yaw rate"
	Unit   string
	Series []Series
	Limits []Limit
	Levels []Level
	Height float64 // of the plot, without its name; 0: 44
	Least  float64 // the least range of values that is shown, so that what is level looks level
}

// Limit is what values have to lie between from one time to another; an end that is open is infinite.
type Limit struct {
	From, To  float64 // s
	Low, High float64
}

// Level is a value with a name from one time to another, as a baseline.
type Level struct {
	Name     string
	From, To float64 // s
	Value    float64
}

// Mark is a moment with a name.
type Mark struct {
	Name string
	At   float64 // s
}

// Span is a stretch of time with a name.
type Span struct {
	Name     string
	From, To float64 // s
}

// Picture is quantities over time, one above the other.
type Picture struct {
	Title  string // written above; empty: nothing is
	About  string // what is seen, for those who do not see it; empty: the title
	Axis   string // what the axis of time shows; empty: seconds
	Panels []Panel
	Marks  []Mark
	Spans  []Span
	From   float64 // s; with To not above it: as far as there are values
	To     float64
}

// Over draws panels one above the other over one axis of time.
func Over(w io.Writer, title string, panels []Panel) error {
	p := Picture{Title: title, Panels: panels}
	return p.SVG(w)
}

// The places of a picture's parts.
const (
	plotLeft     = 40
	plotRight    = Width - 6
	panelHead    = 15
	panelGap     = 6
	axisHeight   = 28
	markHeight   = 12
	panelDefault = 44
)

// SVG draws the picture.
func (p *Picture) SVG(w io.Writer) error {
	if p.To <= p.From {
		p.From, p.To = p.reach()
	}
	about := p.About
	if about == "" {
		about = p.Title
	}
	height := float64(axisHeight) + float64(markHeight*p.namesAbove()) + 4
	if p.Title != "" {
		height += 18
	}
	for i := range p.Panels {
		height += panelHead + p.Panels[i].height() + panelGap
	}
	return paint(w, height, about, func(c *canvas) { p.draw(c) })
}

// reach returns the first and the last time of all values.
func (p *Picture) reach() (from, to float64) {
	from, to = math.Inf(1), math.Inf(-1)
	for i := range p.Panels {
		for _, s := range p.Panels[i].Series {
			if len(s.At) > 0 {
				from, to = min(from, s.At[0]), max(to, s.At[len(s.At)-1])
			}
		}
	}
	if !(to > from) {
		return 0, 1
	}
	return from, to
}

// namesAbove returns how many rows of names of moments and stretches stand above the panels.
func (p *Picture) namesAbove() int { return len(p.Marks) + len(p.Spans) }

// height returns how high the panel's plot is.
func (p *Panel) height() float64 {
	if p.Height > 0 {
		return p.Height
	}
	return panelDefault
}

// draw draws all from the top down.
func (p *Picture) draw(c *canvas) {
	y := c.height
	if p.Title != "" {
		y -= 14
		c.write(2, y, large, Width-4, text, draw.XLeft, p.Title)
		y -= 4
	}
	x := Scale{Low: p.From, High: p.To}
	x.Step = ScaleOf(5, p.From, p.To).Step
	top := y - vg.Length(markHeight*p.namesAbove())
	bottom := vg.Length(axisHeight)
	for _, s := range p.Spans {
		c.box(across(x, s.From), bottom, across(x, s.To), top, shade)
	}
	for _, s := range p.Spans {
		y -= markHeight
		named(c, x, s.From, y, quiet, s.Name)
		c.line(across(x, s.From), bottom, across(x, s.From), y, 0.6, quiet, dashes[2])
		c.line(across(x, s.To), bottom, across(x, s.To), top, 0.6, quiet, dashes[2])
	}
	for _, m := range p.Marks {
		y -= markHeight
		named(c, x, m.At, y, vermillion, m.Name)
		c.line(across(x, m.At), bottom, across(x, m.At), y, 0.9, vermillion, dashes[1])
	}
	y -= 4 // names of moments are not to be taken for the panel's
	for i := range p.Panels {
		y -= panelHead
		p.Panels[i].head(c, y+4)
		low := y - vg.Length(p.Panels[i].height())
		p.Panels[i].draw(c, x, low, y)
		y = low - panelGap
	}
	p.axis(c, x, bottom)
}

// across returns where a time lies, at the edge where it is not shown.
func across(x Scale, at float64) vg.Length {
	return plotLeft + vg.Length(min(1, max(0, x.At(at))))*(plotRight-plotLeft)
}

// named writes the name of a moment beside it, on the side that has room; one for which neither has goes
// past the moment's line, which ends below it.
func named(c *canvas, x Scale, at float64, y vg.Length, colour color.Color, name string) {
	place := across(x, at)
	wide := wider * style(small, colour).Width(plain(name))
	switch {
	case place+4+wide <= plotRight:
		c.write(place+4, y+1, small, plotRight-place-4, colour, draw.XLeft, name)
	case wide <= place-4 || place > plotRight-60:
		c.write(place-4, y+1, small, place-4, colour, draw.XRight, name)
	default:
		c.write(plotRight, y+1, small, plotRight, colour, draw.XRight, name)
	}
}

// axis draws the axis of time.
func (p *Picture) axis(c *canvas, x Scale, bottom vg.Length) {
	c.line(plotLeft, bottom, plotRight, bottom, 0.7, quiet, nil)
	for _, v := range x.within() {
		at := across(x, v)
		c.line(at, bottom, at, bottom-3, 0.7, quiet, nil)
		c.tick(at, bottom-13, x.Number(v))
	}
	name := p.Axis
	if name == "" {
		name = "time, s"
	}
	c.write(plotRight, bottom-25, small, plotRight-plotLeft, quiet, draw.XRight, name)
}

// head writes what the panel shows and what its lines are.
func (p *Panel) head(c *canvas, y vg.Length) {
	name := p.Name
	if p.Unit != "" {
		name += ", " + p.Unit
	}
	at := plotLeft + c.write(plotLeft, y, large, plotRight/2, text, draw.XLeft, name) + 8
	if len(p.Series) < 2 {
		return
	}
	for i := range p.Series {
		if at > plotRight-40 {
			return
		}
		c.line(at, y+4, at+16, y+4, 1.4, lines[i%len(lines)], dashes[i%len(dashes)])
		at += 19 + c.write(at+19, y, small, plotRight-at-19, text, draw.XLeft, p.Series[i].Name) + 8
	}
}

// values returns the scale of the panel's values.
func (p *Panel) values() Scale {
	var all []float64
	for i := range p.Series {
		s := &p.Series[i]
		all = slices.Concat(all, s.Value, s.Low, s.High)
	}
	for _, l := range p.Limits {
		all = append(all, l.Low, l.High)
	}
	for _, l := range p.Levels {
		all = append(all, l.Value)
	}
	s := ScaleOf(2.2, all...)
	if p.Least > s.High-s.Low {
		middle := (s.Low + s.High) / 2
		return ScaleOf(2.2, middle-p.Least/2, middle+p.Least/2)
	}
	return s
}

// draw draws the panel's values between low and high.
func (p *Panel) draw(c *canvas, x Scale, low, high vg.Length) {
	y := p.values()
	up := func(v float64) vg.Length { return low + vg.Length(min(1, max(0, y.At(v))))*(high-low) }
	for _, l := range p.Limits {
		if !math.IsInf(l.Low, 0) && !math.IsInf(l.High, 0) {
			c.box(across(x, l.From), up(l.Low), across(x, l.To), up(l.High), band)
		}
	}
	for _, v := range y.Ticks() {
		c.line(plotLeft, up(v), plotRight, up(v), 0.5, grid, nil)
		c.write(plotLeft-4, up(v)-3.5, small, 0, text, draw.XRight, y.Number(v))
	}
	for i := range p.Series {
		p.Series[i].band(c, x, up)
	}
	for _, l := range p.Limits {
		for _, end := range []float64{l.Low, l.High} {
			if !math.IsInf(end, 0) {
				c.line(across(x, l.From), up(end), across(x, l.To), up(end), 1, vermillion, dashes[3])
			}
		}
	}
	for _, l := range p.Levels {
		c.line(across(x, l.From), up(l.Value), across(x, l.To), up(l.Value), 1.1, green, dashes[2])
	}
	for i := range p.Series {
		p.Series[i].draw(c, x, up, i)
	}
}

// band fills what lies between the least and the most.
func (s *Series) band(c *canvas, x Scale, up func(float64) vg.Length) {
	if len(s.Low) != len(s.At) || len(s.High) != len(s.At) {
		return
	}
	for from := 0; from < len(s.At); {
		if math.IsNaN(s.Low[from]) || math.IsNaN(s.High[from]) {
			from++
			continue
		}
		to := from
		var above, below []vg.Point
		for ; to < len(s.At) && !math.IsNaN(s.Low[to]) && !math.IsNaN(s.High[to]); to++ {
			above = append(above, vg.Point{X: across(x, s.At[to]), Y: up(s.High[to])})
			below = append(below, vg.Point{X: across(x, s.At[to]), Y: up(s.Low[to])})
		}
		slices.Reverse(below)
		if to-from > 1 {
			c.FillPolygon(sky, append(above, below...))
		}
		from = to
	}
}

// draw draws the series' line, the i-th of its panel.
func (s *Series) draw(c *canvas, x Scale, up func(float64) vg.Length, i int) {
	var path, marks vg.Path
	pen := false
	var before vg.Point
	for j, at := range s.At {
		if math.IsNaN(s.Value[j]) || at < x.Low || at > x.High {
			pen = false
			continue
		}
		now := vg.Point{X: across(x, at), Y: up(s.Value[j])}
		switch {
		case !pen:
			path.Move(now)
		case s.Stepped && now.Y != before.Y:
			path.Line(vg.Point{X: now.X, Y: before.Y})
			path.Line(now)
		default:
			path.Line(now)
		}
		pen, before = true, now
		if s.Marked {
			marks.Move(vg.Point{X: now.X - 0.9, Y: now.Y})
			marks.Line(vg.Point{X: now.X + 0.9, Y: now.Y})
		}
	}
	c.SetLineStyle(draw.LineStyle{Color: lines[i%len(lines)], Width: 1.3, Dashes: dashes[i%len(dashes)]})
	c.Stroke(path)
	if s.Marked {
		c.SetLineStyle(draw.LineStyle{Color: lines[i%len(lines)], Width: 2.4})
		c.Stroke(marks)
	}
}
