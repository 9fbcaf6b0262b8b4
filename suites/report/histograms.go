package report

import (
	"bytes"
	"image/color"
	"math"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/text"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
	"gonum.org/v1/plot/vg/vgsvg"

	"hilrig/rig/raspberry/realtime"
	"hilrig/rig/signal"
)

// The picture's colours: bars, what stands out, and what stays behind.
var (
	barColour   = color.RGBA{R: 0x2f, G: 0x6f, B: 0x8f, A: 0xff}
	markColour  = color.RGBA{R: 0xb0, G: 0x3a, B: 0x2e, A: 0xff}
	gridColour  = color.RGBA{R: 0xdd, G: 0xdd, B: 0xdd, A: 0xff}
	quietColour = color.RGBA{R: 0x55, G: 0x55, B: 0x55, A: 0xff}
)

// The picture's size.
const (
	pictureWidth = 17 * vg.Centimeter
	chartHeight  = 9 * vg.Centimeter
	noteHeight   = 1.1 * vg.Centimeter
)

// Chart is one histogram of spans of time.
type Chart struct {
	Title   string
	Counted string // what the histogram counts, "edges"
	Spans   *realtime.Histogram
}

// Histograms returns charts as SVG, one above the other on one axis of time, under words that
// say what they are of.
func Histograms(charts []Chart, words string) ([]byte, error) {
	var all []*realtime.Histogram
	for _, c := range charts {
		all = append(all, c.Spans)
	}
	most := lastDecade(all...)
	var panels [][]*plot.Plot
	for _, c := range charts {
		panels = append(panels, []*plot.Plot{panel(c.Title, c.Counted, c.Spans, most)})
	}
	height := chartHeight * vg.Length(len(charts))
	c := vgsvg.NewWith(vgsvg.UseWH(pictureWidth, height))
	whole := draw.New(c)
	whole.SetColor(color.White)
	whole.Fill(whole.Rectangle.Path())
	tiles := draw.Tiles{Rows: len(charts), Cols: 1, PadTop: noteHeight, PadBottom: 8, PadLeft: 8, PadRight: 16, PadY: 14}
	for i, row := range plot.Align(panels, tiles, whole) {
		panels[i][0].Draw(row[0])
	}
	note(draw.Crop(whole, 0, 0, height-noteHeight, 0), words)
	var out bytes.Buffer
	if _, err := c.WriteTo(&out); err != nil {
		return nil, err
	}
	return out.Bytes(), nil
}

// note writes what the picture is of.
func note(c draw.Canvas, words string) {
	style := sans(10, quietColour)
	style.XAlign, style.YAlign = draw.XLeft, draw.YCenter
	c.FillText(style, vg.Point{X: c.Min.X + 8, Y: c.Center().Y}, words)
}

// sans returns the picture's letters.
func sans(size vg.Length, colour color.Color) draw.TextStyle {
	return draw.TextStyle{
		Color:   colour,
		Font:    font.Font{Typeface: "Liberation", Variant: "Sans", Size: size},
		Handler: text.Plain{Fonts: font.DefaultCache},
	}
}

// The axis of time begins at firstTime; one bar from there to smallTime holds all that
// was shorter than that, which few clocks tell apart.
const (
	firstTime = 5 * signal.Nanosecond
	smallTime = 10 * signal.Nanosecond
)

// lastDecade returns the power of ten, in ns, that no span exceeds.
func lastDecade(all ...*realtime.Histogram) float64 {
	most := 1e3
	for _, h := range all {
		most = math.Max(most, math.Pow(10, math.Ceil(math.Log10(float64(h.Most)+1))))
	}
	return most
}

// panel returns one histogram, on an axis of time up to most ns.
func panel(title, counted string, h *realtime.Histogram, most float64) *plot.Plot {
	p := plot.New()
	p.Title.Text = title
	p.Title.TextStyle = sans(12, color.Black)
	p.Title.TextStyle.XAlign, p.Title.TextStyle.YAlign = draw.XCenter, draw.YTop
	p.Title.Padding = 16 // bars writes what it counts there
	p.X.Label.Text = "time; one bar for all below " + smallTime.Short()
	for _, a := range []*plot.Axis{&p.X, &p.Y} {
		a.Label.TextStyle = sans(10, color.Black)
		a.Label.TextStyle.XAlign, a.Label.TextStyle.YAlign = draw.XCenter, draw.YBottom
		x, y := a.Tick.Label.XAlign, a.Tick.Label.YAlign
		a.Tick.Label = sans(9, color.Black)
		a.Tick.Label.XAlign, a.Tick.Label.YAlign = x, y
		a.Scale = plot.LogScale{}
		a.Padding = 0
	}
	tallest := 1.0
	for _, c := range drawn(h) {
		tallest = math.Max(tallest, float64(c.Count))
	}
	p.X.Min, p.X.Max = float64(firstTime), most
	p.Y.Min, p.Y.Max = leastCount, math.Pow(10, math.Ceil(math.Log10(tallest)+0.1))
	p.X.Tick.Marker = plot.TickerFunc(func(low, high float64) []plot.Tick {
		return logTicks(low, high, func(x float64) string { return signal.Time(math.Round(x)).Short() })
	})
	p.Y.Tick.Marker = plot.TickerFunc(func(low, high float64) []plot.Tick { return logTicks(low, high, roundCount) })
	p.Add(&bars{h, counted})
	return p
}

// drawn returns a histogram's classes, the shortest in one.
func drawn(h *realtime.Histogram) []realtime.Class {
	out := []realtime.Class{{Least: firstTime, Below: smallTime}}
	for _, c := range h.Classes() {
		if c.Below <= smallTime {
			out[0].Count += c.Count
		} else {
			out = append(out, c)
		}
	}
	return out
}

// leastCount is where the axis of counts begins, so that a count of 1 has a bar.
const leastCount = 0.5

// logTicks returns a tick for each 1, 2 ... 9 of every decade, the first with its label.
func logTicks(low, high float64, label func(float64) string) (ticks []plot.Tick) {
	for decade := math.Pow(10, math.Floor(math.Log10(low))); decade <= high*1.001; decade *= 10 {
		for n := 1.0; n < 10; n++ {
			if v := n * decade; v >= low*0.999 && v <= high*1.001 {
				tick := plot.Tick{Value: v}
				if n == 1 {
					tick.Label = label(v)
				}
				ticks = append(ticks, tick)
			}
		}
	}
	return ticks
}

// roundCount writes a power of ten: "100", "10 k", "1 G".
func roundCount(x float64) string {
	for _, u := range []struct {
		size float64
		name string
	}{{1e9, " G"}, {1e6, " M"}, {1e3, " k"}} {
		if x >= u.size*0.999 {
			return signal.Digits(x/u.size, 3) + u.name
		}
	}
	return signal.Digits(x, 3)
}

// bars draws a histogram: a bar for each class, a line at 99.99 % and at the longest.
// What it counts stands at the upper left: gonum's own label of an axis takes the height
// from the panel where the scale is logarithmic.
type bars struct {
	h       *realtime.Histogram
	counted string
}

// Plot implements plot.Plotter.
func (b *bars) Plot(c draw.Canvas, p *plot.Plot) {
	x, y := p.Transforms(&c)
	for _, t := range p.Y.Tick.Marker.Ticks(p.Y.Min, p.Y.Max) {
		if t.Label != "" {
			c.StrokeLine2(draw.LineStyle{Color: gridColour, Width: 0.5}, c.Min.X, y(t.Value), c.Max.X, y(t.Value))
		}
	}
	at := func(t signal.Time) vg.Length { return x(math.Min(math.Max(float64(t), p.X.Min), p.X.Max)) }
	for _, k := range drawn(b.h) {
		if k.Count > 0 {
			left, right, top := at(k.Least), at(k.Below), y(float64(k.Count))
			c.FillPolygon(barColour, []vg.Point{{X: left, Y: c.Min.Y}, {X: right, Y: c.Min.Y}, {X: right, Y: top}, {X: left, Y: top}})
		}
	}
	c.FillText(sans(10, color.Black), vg.Point{X: c.Min.X, Y: c.Max.Y + 5}, b.counted+" in a quarter of an octave")
	if b.h.Count == 0 {
		return
	}
	b.mark(c, at(b.h.Quantile(0.9999)), "99.99 % within "+b.h.Quantile(0.9999).Short(), 0)
	b.mark(c, at(b.h.Most), "longest "+b.h.Most.Short(), 1)
}

// mark draws a line up to a text at the top, row rows down, on the side that has room.
func (b *bars) mark(c draw.Canvas, x vg.Length, words string, row int) {
	top := c.Max.Y - vg.Length(4+13*row)
	c.StrokeLine2(draw.LineStyle{Color: markColour, Width: 0.8, Dashes: []vg.Length{3, 2}}, x, c.Min.Y, x, top)
	style := sans(9, markColour)
	style.YAlign, style.XAlign = draw.YTop, draw.XLeft
	if x > c.Center().X {
		x -= 1.3 * style.Width(words) // other letters than these may be what is shown
	}
	c.FillText(style, vg.Point{X: x + 3, Y: top}, words)
}
