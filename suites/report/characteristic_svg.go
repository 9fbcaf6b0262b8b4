package report

import (
	"image/color"

	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"hilrig/rig/signal"
	"hilrig/suites/report/plots"
)

// The colours of a characteristic: up, down, and the band of the limit. Blue and orange are
// told apart with every common kind of colour blindness; the forms of the marks differ besides.
var (
	upColour   = color.RGBA{R: 0x1f, G: 0x5f, B: 0x8b, A: 0xff}
	downColour = color.RGBA{R: 0xc4, G: 0x6a, B: 0x1b, A: 0xff}
	bandColour = color.RGBA{R: 0xec, G: 0xec, B: 0xe6, A: 0xff}
	edgeColour = color.RGBA{R: 0x9a, G: 0x9a, B: 0x8c, A: 0xff}
)

// The places of a characteristic's parts on its picture, from the lower left.
const (
	curveHeight    = 15.5 * vg.Centimeter
	curveLeft      = 58
	curveRight     = 18
	residualBottom = 42
	residualTop    = 132
	curveBottom    = 164
	curveTop       = curveHeight - 58
	markSize       = 3.2
)

// strokes are how lines are drawn, the first one whole.
var strokes = [][]vg.Length{nil, {6, 2.5}, {1.5, 2}, {7, 2, 1.5, 2}}

// SVG draws the characteristic: output over throttle, up and down, with the straight lines and
// the band of the limit; below it the residuals. Its letters are text.
func (c *Characteristic) SVG() ([]byte, error) {
	return drawing(curveHeight, func(whole draw.Canvas) { c.draw(&whole) })
}

// draw draws the characteristic on the whole of a picture.
func (c *Characteristic) draw(whole *draw.Canvas) {
	commands, outputs, residuals := c.scales()
	write(whole, curveLeft, curveHeight-17, 12, color.Black, draw.XLeft, c.Title)
	write(whole, curveLeft, curveHeight-31, 9.5, quietColour, draw.XLeft, c.Held)

	top := &panelOf{Canvas: whole, x: commands, y: outputs, low: curveBottom, high: curveTop}
	top.axes(c.Output+", "+c.Unit, c.rest() == nil)
	c.drawBand(top)
	for i := range c.Lines {
		c.drawLine(top, i)
	}
	top.curve(c.means(false))
	top.curve(c.means(true))
	c.drawUnread(top)
	c.drawLegend(top)

	if all := c.rest(); all != nil {
		below := &panelOf{Canvas: whole, x: commands, y: residuals, low: residualBottom, high: residualTop}
		below.axes("residual, % of span", true)
		if c.Band > 0 {
			below.band([]float64{100 * c.Lines[0].Low, 100 * c.Lines[0].High}, []float64{-100 * c.Band, -100 * c.Band}, []float64{100 * c.Band, 100 * c.Band})
		}
		below.line(draw.LineStyle{Color: color.Black, Width: 0.8}, commands.Low, 0, commands.High, 0)
		below.dots(all)
		below.curve(c.residuals(c.means(false)))
		below.curve(c.residuals(c.means(true)))
	}
}

// rest returns the residuals of all readings.
func (c *Characteristic) rest() []Point { return c.residuals(c.Points) }

// drawBand fills what the limit leaves on both sides of the first line.
func (c *Characteristic) drawBand(p *panelOf) {
	if len(c.Lines) == 0 || !(c.Band > 0) {
		return
	}
	l, half := &c.Lines[0], float64(c.Band*c.Span)
	low, high := l.at(l.Low), l.at(l.High)
	p.band([]float64{100 * l.Low, 100 * l.High}, []float64{low - half, high - half}, []float64{low + half, high + half})
}

// drawLine draws one of the straight lines.
func (c *Characteristic) drawLine(p *panelOf, i int) {
	l := &c.Lines[i]
	p.line(lineStyle(i), 100*l.Low, l.at(l.Low), 100*l.High, l.at(l.High))
}

// lineStyle returns how the i-th straight line is drawn.
func lineStyle(i int) draw.LineStyle {
	return draw.LineStyle{Color: color.Black, Width: 0.8, Dashes: strokes[i%len(strokes)]}
}

// drawUnread marks the levels at which nothing was read at the foot of the panel.
func (c *Characteristic) drawUnread(p *panelOf) {
	for _, command := range c.Unread {
		at := p.at(100*command, p.y.Low)
		at.Y += markSize + 2
		p.DrawGlyph(draw.GlyphStyle{Color: quietColour, Radius: markSize, Shape: draw.CrossGlyph{}}, at)
	}
}

// drawLegend says what marks and lines mean: at the upper left, or at the lower right where
// fewer readings stand there.
func (c *Characteristic) drawLegend(p *panelOf) {
	x, y := vg.Length(curveLeft+12), p.high-12
	if c.crowded(p, 0, 0.55, 0.45, 1) > c.crowded(p, 0.5, 1, 0, 0.55) {
		x, y = curveLeft+0.52*(pictureWidth-curveLeft-curveRight), p.low+110
	}
	row := func(sample func(at vg.Point), words string) {
		sample(vg.Point{X: x + 9, Y: y + 3})
		write(p.Canvas, x+24, y, 9, color.Black, draw.XLeft, words)
		y -= 13
	}
	for _, down := range []bool{false, true} {
		words := "up, mean (dots: each reading)"
		if down {
			words = "down, mean (rings: each reading)"
		}
		row(func(at vg.Point) { p.DrawGlyph(glyph(down, markSize), at) }, words)
	}
	for i := range c.Lines {
		row(func(at vg.Point) { p.StrokeLine2(lineStyle(i), at.X-9, at.Y, at.X+9, at.Y) }, c.Lines[i].Name)
	}
	if c.Band > 0 && len(c.Lines) > 0 {
		row(func(at vg.Point) {
			p.FillPolygon(bandColour, []vg.Point{{X: at.X - 9, Y: at.Y - 4}, {X: at.X + 9, Y: at.Y - 4}, {X: at.X + 9, Y: at.Y + 4}, {X: at.X - 9, Y: at.Y + 4}})
			p.StrokeLine2(draw.LineStyle{Color: edgeColour, Width: 0.5}, at.X-9, at.Y+4, at.X+9, at.Y+4)
			p.StrokeLine2(draw.LineStyle{Color: edgeColour, Width: 0.5}, at.X-9, at.Y-4, at.X+9, at.Y-4)
		}, "limit, "+signal.Digits(100*c.Band, 3)+" % of span, "+c.Lines[0].Name)
	}
	if len(c.Unread) > 0 {
		row(func(at vg.Point) {
			p.DrawGlyph(draw.GlyphStyle{Color: quietColour, Radius: markSize, Shape: draw.CrossGlyph{}}, at)
		}, "not read at this level")
	}
}

// crowded counts the readings in a part of a panel, given in shares of its sides.
func (c *Characteristic) crowded(p *panelOf, left, right, low, high float64) int {
	n := 0
	for _, point := range c.Points {
		if x, y := p.x.At(100*point.Command), p.y.At(point.Output); x >= left && x <= right && y >= low && y <= high {
			n++
		}
	}
	return n
}

// write puts words on the picture: their lower edge at y, aligned about x.
func write(c *draw.Canvas, x, y, size vg.Length, colour color.Color, align draw.XAlignment, words string) {
	style := sans(size, colour)
	style.XAlign, style.YAlign = align, draw.YBottom
	c.FillText(style, vg.Point{X: x, Y: y}, words)
}

// panelOf is one of the two plots of a picture: its axes and where it stands.
type panelOf struct {
	*draw.Canvas
	x, y      plots.Scale
	low, high vg.Length // its lower and its upper edge
}

// at returns the place of a point.
func (p *panelOf) at(x, y float64) vg.Point {
	return vg.Point{
		X: curveLeft + vg.Length(p.x.At(x))*(pictureWidth-curveLeft-curveRight),
		Y: p.low + vg.Length(p.y.At(y))*(p.high-p.low),
	}
}

// axes draws grid, ticks and what the values are of; the axis of throttle has numbers on the
// lowest panel alone.
func (p *panelOf) axes(label string, lowest bool) {
	grid := draw.LineStyle{Color: gridColour, Width: 0.5}
	for _, v := range p.y.Ticks() {
		p.line(grid, p.x.Low, v, p.x.High, v)
		at := p.at(p.x.Low, v)
		write(p.Canvas, at.X-5, at.Y-4, 9, color.Black, draw.XRight, p.y.Number(v))
	}
	for _, v := range p.x.Ticks() {
		p.line(grid, v, p.y.Low, v, p.y.High)
		if at := p.at(v, p.y.Low); lowest {
			write(p.Canvas, at.X, at.Y-14, 9, color.Black, draw.XCenter, p.x.Number(v))
		}
	}
	frame := draw.LineStyle{Color: quietColour, Width: 0.7}
	p.line(frame, p.x.Low, p.y.Low, p.x.High, p.y.Low)
	p.line(frame, p.x.Low, p.y.Low, p.x.Low, p.y.High)
	write(p.Canvas, 8, p.high+6, 9.5, color.Black, draw.XLeft, label)
	if lowest {
		write(p.Canvas, p.at(p.x.High, 0).X, p.low-29, 9.5, color.Black, draw.XRight, "throttle, %")
	}
}

// line draws a straight line between two points.
func (p *panelOf) line(style draw.LineStyle, x1, y1, x2, y2 float64) {
	from, to := p.at(x1, y1), p.at(x2, y2)
	p.StrokeLine2(style, from.X, from.Y, to.X, to.Y)
}

// band fills the room between two lines, and draws its edges.
func (p *panelOf) band(x, low, high []float64) {
	p.FillPolygon(bandColour, []vg.Point{p.at(x[0], low[0]), p.at(x[1], low[1]), p.at(x[1], high[1]), p.at(x[0], high[0])})
	for _, y := range [][]float64{low, high} {
		p.line(draw.LineStyle{Color: edgeColour, Width: 0.5}, x[0], y[0], x[1], y[1])
	}
}

// curve draws points of one direction and joins them.
func (p *panelOf) curve(points []Point) {
	for i := 1; i < len(points); i++ {
		a, b := &points[i-1], &points[i]
		style := draw.LineStyle{Color: glyph(a.Down, 1).Color, Width: 0.6}
		p.line(style, 100*a.Command, a.Output, 100*b.Command, b.Output)
	}
	p.marks(points, markSize)
}

// marks draws a mark for each point.
func (p *panelOf) marks(points []Point, size vg.Length) {
	for _, point := range points {
		p.DrawGlyph(glyph(point.Down, size), p.at(100*point.Command, point.Output))
	}
}

// dots draws single readings, those from below as dots at the left of their level, those from
// above as rings at its right.
func (p *panelOf) dots(points []Point) {
	for _, point := range points {
		at := p.at(100*point.Command, point.Output)
		if point.Down {
			at.X += 1.3 * markSize
			p.DrawGlyph(draw.GlyphStyle{Color: downColour, Radius: 0.35 * markSize, Shape: draw.RingGlyph{}}, at)
			continue
		}
		at.X -= 1.3 * markSize
		p.DrawGlyph(draw.GlyphStyle{Color: upColour, Radius: 0.35 * markSize, Shape: draw.CircleGlyph{}}, at)
	}
}

// glyph returns the mark of a direction: a full triangle that points up, or an empty one that
// points down.
func glyph(down bool, size vg.Length) draw.GlyphStyle {
	if down {
		return draw.GlyphStyle{Color: downColour, Radius: size, Shape: pointsDown{}}
	}
	return draw.GlyphStyle{Color: upColour, Radius: size, Shape: draw.PyramidGlyph{}}
}

// pointsDown is an empty triangle on its tip.
type pointsDown struct{}

// DrawGlyph implements draw.GlyphDrawer.
func (pointsDown) DrawGlyph(c *draw.Canvas, style draw.GlyphStyle, at vg.Point) {
	c.SetColor(style.Color)
	c.SetLineWidth(0.9)
	c.SetLineDash(nil, 0)
	across, up := style.Radius*0.95, style.Radius*0.7
	var path vg.Path
	path.Move(vg.Point{X: at.X - across, Y: at.Y + up})
	path.Line(vg.Point{X: at.X + across, Y: at.Y + up})
	path.Line(vg.Point{X: at.X, Y: at.Y - style.Radius})
	path.Close()
	c.Stroke(path)
}
