package report

import (
	"bytes"
	"image/color"
	"math"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/plotter"
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
	most := 1e3
	for _, c := range charts {
		most = math.Max(most, math.Pow(10, math.Ceil(math.Log10(float64(c.Spans.Most)+1))))
	}
	var panels [][]*plot.Plot
	for _, c := range charts {
		panels = append(panels, []*plot.Plot{c.panel(most)})
	}
	height := chartHeight * vg.Length(len(charts))
	return drawing(height, func(whole draw.Canvas) {
		tiles := draw.Tiles{Rows: len(charts), Cols: 1, PadTop: noteHeight, PadBottom: 8, PadLeft: 8, PadRight: 16, PadY: 14}
		for i, row := range plot.Align(panels, tiles, whole) {
			panels[i][0].Draw(row[0])
		}
		write(&whole, 8, height-noteHeight/2-4, 10, quietColour, draw.XLeft, words)
	})
}

// drawing returns as SVG what is drawn on a white ground of the pictures' width.
func drawing(height vg.Length, paint func(whole draw.Canvas)) ([]byte, error) {
	canvas := vgsvg.NewWith(vgsvg.UseWH(pictureWidth, height))
	whole := draw.New(canvas)
	whole.SetColor(color.White)
	whole.Fill(whole.Rectangle.Path())
	paint(whole)
	var out bytes.Buffer
	_, err := canvas.WriteTo(&out)
	return out.Bytes(), err
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

// panel returns the histogram, on an axis of time up to most ns.
func (c *Chart) panel(most float64) *plot.Plot {
	p := plot.New()
	p.Title.Text = c.Title
	p.Title.TextStyle.Font = sans(12, color.Black).Font
	p.Title.Padding = 16 // marks writes what is counted there
	p.X.Label.Text = "time; one bar for all below " + smallTime.Short()
	for _, a := range []*plot.Axis{&p.X, &p.Y} {
		a.Label.TextStyle.Font, a.Tick.Label.Font = sans(10, color.Black).Font, sans(9, color.Black).Font
		a.Scale = plot.LogScale{}
		a.Padding = 0
	}
	p.X.Tick.Marker = decades(func(x float64) string { return signal.Time(math.Round(x)).Short() })
	p.Y.Tick.Marker = decades(roundCount)
	bars := &plotter.Histogram{Bins: bins(c.Spans), FillColor: barColour, LogY: true}
	p.Add(&plotter.Grid{Horizontal: draw.LineStyle{Color: gridColour, Width: 0.5}}, bars, &marks{c})
	_, _, _, tallest := bars.DataRange()
	p.X.Min, p.X.Max = float64(firstTime), most
	p.Y.Min, p.Y.Max = leastCount, math.Pow(10, math.Ceil(math.Log10(max(tallest, 1))+0.1))
	return p
}

// bins returns a histogram's classes that hold any, the shortest together as one. An empty one
// would be drawn as a line.
func bins(h *realtime.Histogram) (out []plotter.HistogramBin) {
	small := plotter.HistogramBin{Min: float64(firstTime), Max: float64(smallTime)}
	for _, c := range h.Classes() {
		if c.Below <= smallTime {
			small.Weight += float64(c.Count)
		} else if c.Count > 0 {
			out = append(out, plotter.HistogramBin{Min: float64(c.Least), Max: float64(c.Below), Weight: float64(c.Count)})
		}
	}
	if small.Weight > 0 {
		out = append(out, small)
	}
	return out
}

// leastCount is where the axis of counts begins, so that a count of 1 has a bar.
const leastCount = 0.5

// decades returns the ticks of an axis with a label at each power of ten.
func decades(label func(float64) string) plot.TickerFunc {
	return func(low, high float64) []plot.Tick {
		ticks := plot.LogTicks{}.Ticks(low, high)
		for i := range ticks {
			if !ticks[i].IsMinor() {
				ticks[i].Label = label(ticks[i].Value)
			}
		}
		return ticks
	}
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

// marks draws a line at 99.99 % and at the longest of a chart's spans. What is counted stands
// at the upper left: gonum's own label of an axis takes the height from the panel where the
// scale is logarithmic.
type marks struct{ of *Chart }

// Plot implements plot.Plotter.
func (m *marks) Plot(c draw.Canvas, p *plot.Plot) {
	write(&c, c.Min.X, c.Max.Y+5, 10, color.Black, draw.XLeft, m.of.Counted+" in a quarter of an octave")
	h := m.of.Spans
	if h.Count == 0 {
		return
	}
	x, _ := p.Transforms(&c)
	for row, t := range []signal.Time{h.Quantile(0.9999), h.Most} {
		words := [...]string{"99.99 % within ", "longest "}[row] + t.Short()
		mark(c, x(max(float64(t), p.X.Min)), words, row)
	}
}

// mark draws a line up to a text at the top, row rows down, on the side that has room.
func mark(c draw.Canvas, x vg.Length, words string, row int) {
	top := c.Max.Y - vg.Length(4+13*row)
	c.StrokeLine2(draw.LineStyle{Color: markColour, Width: 0.8, Dashes: []vg.Length{3, 2}}, x, c.Min.Y, x, top)
	style := sans(9, markColour)
	style.YAlign, style.XAlign = draw.YTop, draw.XLeft
	if x > c.Center().X {
		x -= 1.3 * style.Width(words) // other letters than these may be what is shown
	}
	c.FillText(style, vg.Point{X: x + 3, Y: top}, words)
}
