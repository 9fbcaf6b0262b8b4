package plots

import (
	"bytes"
	"encoding/xml"
	"fmt"
	"image/color"
	"io"
	"regexp"
	"strings"
	"sync"
	"unicode"

	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/font/liberation"
	letters "gonum.org/v1/plot/text"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
	"gonum.org/v1/plot/vg/vgsvg"
)

// Width is how wide a picture is: so narrow that its letters can be read on a phone.
const Width = 400

// The sizes of letters.
const (
	large = 11
	small = 9.5
)

// dashes are how lines are drawn, the first one whole.
var dashes = [][]vg.Length{nil, {5, 2.5}, {1.5, 2}, {7, 2, 1.5, 2}}

// canvas is a picture under way: y grows upwards from its lower edge.
type canvas struct {
	draw.Canvas
	height vg.Length
}

// paint writes what is painted on a picture of that height as SVG. About says in words what is seen.
func paint(w io.Writer, height float64, about string, painter func(c *canvas)) error {
	svg := vgsvg.NewWith(vgsvg.UseWH(Width, vg.Length(height)))
	painter(&canvas{draw.New(svg), vg.Length(height)})
	var raw bytes.Buffer
	if _, err := svg.WriteTo(&raw); err != nil {
		return err
	}
	_, err := io.WriteString(w, tidy(raw.String(), height, about))
	return err
}

// styles finds the styles of a picture's elements, and font the part that is the same of all letters.
var (
	styles = regexp.MustCompile(`style="[^"]*"`)
	same   = regexp.MustCompile(`font-family:[^;"]*;font-variant:normal;font-weight:normal;font-style:normal;`)
)

// tidy makes of what gonum writes an element that stands in a page: no head of a file, no size of
// its own, colours that a page may give.
func tidy(svg string, height float64, about string) string {
	_, inside, _ := strings.Cut(svg, "<svg")
	_, inside, _ = strings.Cut(inside, ">")
	inside = styles.ReplaceAllStringFunc(inside, func(style string) string {
		return anchors.Replace(inked(same.ReplaceAllString(style, "")))
	})
	inside = strings.ReplaceAll(inside, "\n\tstyle=", " style=")
	var name bytes.Buffer
	_ = xml.EscapeText(&name, []byte(plain(about))) // a buffer takes everything
	return fmt.Sprintf(`<svg xmlns="http://www.w3.org/2000/svg" class="plot" viewBox="0 0 %d %g" role="img" aria-label="%s" font-family="Liberation Sans, Arial, Helvetica, sans-serif">`,
		Width, height, name.String()) + inside
}

// plain takes out of a text what is no letter: control characters, and marks that turn the direction of writing.
func plain(text string) string {
	return strings.Map(func(c rune) rune {
		if unicode.IsControl(c) || unicode.Is(unicode.Cf, c) || c == unicode.ReplacementChar {
			return ' '
		}
		return c
	}, text)
}

// fonts are what letters are measured with.
var fonts = sync.OnceValue(func() *font.Cache { return font.NewCache(liberation.Collection()) })

// style returns letters.
func style(size vg.Length, colour color.Color) draw.TextStyle {
	return draw.TextStyle{
		Color: colour, YAlign: draw.YBottom,
		Font:    font.Font{Typeface: "Liberation", Variant: "Sans", Size: size},
		Handler: letters.Plain{Fonts: fonts()},
	}
}

// anchors are how words are aligned in SVG. A viewer may have other letters than those that were
// measured here, so it has to align them itself: the alignment goes through gonum as a thousandth of the
// letters' size.
var anchors = strings.NewReplacer(
	".001px", "px;text-anchor:middle", ".501px", ".5px;text-anchor:middle",
	".002px", "px;text-anchor:end", ".502px", ".5px;text-anchor:end",
)

// wider is how much wider another viewer's letters may be than those that are measured.
const wider = 1.15

// write puts words on the picture, their foot at y, aligned about x, cut to what fits into room, and returns how
// wide they are at most.
func (c *canvas) write(x, y, size, room vg.Length, colour color.Color, align draw.XAlignment, words string) vg.Length {
	words = fit(style(size, colour), plain(words), room)
	if strings.TrimSpace(words) == "" {
		return 0
	}
	switch align {
	case draw.XCenter:
		size += 0.001
	case draw.XRight:
		size += 0.002
	}
	s := style(size, colour)
	c.FillText(s, vg.Point{X: x, Y: y}, words)
	return wider * s.Width(words)
}

// tick writes a value below an axis, about x, moved so far that it stays on the picture.
func (c *canvas) tick(x, y vg.Length, value string) {
	half := wider * style(small, text).Width(value) / 2
	c.write(min(max(x, half), Width-half), y, small, 0, text, draw.XCenter, value)
}

// fit shortens words until they fit into room; 0 takes any.
func fit(s draw.TextStyle, words string, room vg.Length) string {
	if room <= 0 || wider*s.Width(words) <= room {
		return words
	}
	all := []rune(words)
	for len(all) > 1 {
		all = all[:len(all)-1]
		if short := strings.TrimSpace(string(all)) + "…"; wider*s.Width(short) <= room {
			return short
		}
	}
	return "…"
}

// line draws a straight line.
func (c *canvas) line(x1, y1, x2, y2, width vg.Length, colour color.Color, dash []vg.Length) {
	c.StrokeLine2(draw.LineStyle{Color: colour, Width: width, Dashes: dash}, x1, y1, x2, y2)
}

// box fills a rectangle.
func (c *canvas) box(x1, y1, x2, y2 vg.Length, colour color.Color) {
	c.FillPolygon(colour, []vg.Point{{X: x1, Y: y1}, {X: x2, Y: y1}, {X: x2, Y: y2}, {X: x1, Y: y2}})
}
