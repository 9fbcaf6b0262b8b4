package circuit

import (
	"bytes"
	"fmt"
	"html"
	"strings"
	"unicode/utf8"
)

// The drawing's inks.
const (
	ink   = "#1f3a4d"
	faint = "#5f717d"
)

// canvas draws the symbols of a circuit. Contacts are drawn open or closed as without any supply,
// the stop button not pressed (IEC 60617 has the symbols; from memory). It keeps what it has drawn,
// and where.
type canvas struct {
	bytes.Buffer
	symbols []symbol
	words   []area // one for each line of text
	solids  []area // what has a frame
	wires   []area // the parts of wires, which are level or upright
}

// symbol is a part that was drawn, with the value beside it.
type symbol struct{ ref, value string }

// area is a rectangle of the drawing.
type area struct {
	left, top, right, bottom int
	text                     string
}

// solid keeps that a frame stands there.
func (c *canvas) solid(x, y, wide, high int) {
	c.solids = append(c.solids, area{left: x, top: y, right: x + wide, bottom: y + high})
}

func (c *canvas) line(points ...int) {
	for i := 2; i+1 < len(points); i += 2 {
		if x, y, to, down := points[i-2], points[i-1], points[i], points[i+1]; x == to || y == down {
			c.wires = append(c.wires, area{left: min(x, to), top: min(y, down), right: max(x, to), bottom: max(y, down)})
		}
	}
	fmt.Fprintf(c, `<path d="M%d %d`, points[0], points[1])
	for i := 2; i < len(points); i += 2 {
		fmt.Fprintf(c, "L%d %d", points[i], points[i+1])
	}
	fmt.Fprintf(c, `" fill="none" stroke="%s" stroke-width="1.5"/>`+"\n", ink)
}

// dot joins wires.
func (c *canvas) dot(x, y int) { fmt.Fprintf(c, `<circle cx="%d" cy="%d" r="3.5"/>`+"\n", x, y) }

// text writes lines from x, y on; anchor is start, middle or end.
func (c *canvas) text(x, y int, anchor, text string) { c.styled(x, y, anchor, "", text) }

func (c *canvas) bold(x, y int, anchor, text string) {
	c.styled(x, y, anchor, ` font-weight="bold"`, text)
}

func (c *canvas) small(x, y int, anchor, text string) {
	c.styled(x, y, anchor, fmt.Sprintf(` font-size="11" fill="%s"`, faint), text)
}

func (c *canvas) styled(x, y int, anchor, style, text string) {
	size := 13
	if strings.Contains(style, `font-size="11"`) {
		size = 11
	}
	tenths := 6 // of its height a letter is wide on the whole
	if strings.Contains(style, "bold") {
		tenths = 7
	}
	for i, line := range strings.Split(text, "\n") {
		wide := utf8.RuneCountInString(line) * size * tenths / 10
		left := x
		switch anchor {
		case "middle":
			left -= wide / 2
		case "end":
			left -= wide
		}
		if wide > 0 {
			c.words = append(c.words, area{left, y + 15*i - size*3/4, left + wide, y + 15*i + 2, line})
		}
		fmt.Fprintf(c, `<text x="%d" y="%d" text-anchor="%s"%s>%s</text>`+"\n", x, y+15*i, anchor, style, html.EscapeString(line))
	}
}

// frame is a rectangle whose left upper corner is x, y.
func (c *canvas) frame(x, y, wide, high int) {
	c.solid(x, y, wide, high)
	fmt.Fprintf(c, `<rect x="%d" y="%d" width="%d" height="%d" fill="#ffffff" stroke="%s" stroke-width="1.5"/>`+"\n", x, y, wide, high, ink)
}

// part is a box that is a part of the circuit.
func (c *canvas) part(x, y, wide, high int, ref, value string) {
	c.symbols = append(c.symbols, symbol{ref, value})
	text := ref
	if value != "" {
		text += "\n" + value
	}
	c.box(x, y, wide, high, text)
}

// box draws a rectangle about x, y with words in it.
func (c *canvas) box(x, y, wide, high int, text string) {
	c.frame(x-wide/2, y-high/2, wide, high)
	lines := strings.Count(text, "\n")
	c.text(x, y+4-15*lines/2, "middle", text)
}

// resistor is one on a horizontal wire, from x to x+60.
func (c *canvas) resistor(x, y int, name, value string) {
	c.symbols = append(c.symbols, symbol{name, value})
	c.line(x, y, x+10, y)
	c.frame(x+10, y-7, 40, 14)
	c.line(x+50, y, x+60, y)
	c.bold(x+30, y-13, "middle", name)
	c.small(x+30, y+22, "middle", value)
}

// drop is a resistor on a vertical wire, from x, y to x, y+60, its name to the right.
func (c *canvas) drop(x, y int, name, value string) { c.upright(x, y, 13, "start", name, value) }

// dropLeft is the same with its name to the left.
func (c *canvas) dropLeft(x, y int, name, value string) { c.upright(x, y, -13, "end", name, value) }

func (c *canvas) upright(x, y, aside int, anchor, name, value string) {
	c.symbols = append(c.symbols, symbol{name, value})
	c.line(x, y, x, y+10)
	c.frame(x-7, y+10, 14, 40)
	c.line(x, y+50, x, y+60)
	c.bold(x+aside, y+26, anchor, name)
	c.small(x+aside, y+41, anchor, value)
}

// capacitor is one on a horizontal wire, from x to x+60, its name to the right.
func (c *canvas) capacitor(x, y int, name, value string) {
	c.symbols = append(c.symbols, symbol{name, value})
	c.line(x, y, x+27, y)
	c.line(x+27, y-9, x+27, y+9)
	c.line(x+33, y-9, x+33, y+9)
	c.line(x+33, y, x+60, y)
	c.bold(x+70, y+3, "start", name)
	c.small(x+96, y+3, "start", value)
}

// fuse is a fuse on a horizontal wire, from x to x+60.
func (c *canvas) fuse(x, y int, name string) {
	c.frame(x+10, y-7, 40, 14)
	c.line(x, y, x+60, y)
	c.bold(x+30, y-13, "middle", name)
}

// contact is a contact on a horizontal wire, from x to x+60: normally open, or closed.
func (c *canvas) contact(x, y int, closed bool, name string) {
	c.line(x, y, x+16, y)
	c.line(x+44, y, x+60, y)
	if closed {
		c.line(x+16, y, x+47, y+6)
		c.line(x+44, y, x+44, y+9)
	} else {
		c.line(x+16, y, x+42, y-13)
	}
	c.bold(x+30, y-18, "middle", name)
}

// magnet is a coil on a vertical wire, from x, y to x, y+60, with what stands across it.
func (c *canvas) magnet(x, y int, name, what string) {
	c.line(x, y, x, y+16)
	c.line(x, y+44, x, y+60)
	c.line(x, y+8, x+52, y+8, x+52, y+52, x, y+52)
	c.symbols = append(c.symbols, symbol{ref: name})
	c.frame(x-22, y+16, 44, 28)
	c.bold(x, y+34, "middle", name)
	c.box(x+52, y+30, 38, 20, "D, Z")
	c.small(x-28, y+34, "end", what)
}

// earth is the 0 V of a circuit, or ground of the Pi.
func (c *canvas) earth(x, y int) {
	c.line(x, y, x, y+8)
	c.line(x-9, y+8, x+9, y+8)
	c.line(x-5, y+12, x+5, y+12)
}

// coupler is an optocoupler in a frame of 150 by 80 from x, y: its diode's wires end at x, y+20 and
// x, y+60, its transistor's at x+150.
func (c *canvas) coupler(x, y int, name string) {
	c.symbols = append(c.symbols, symbol{ref: name})
	fmt.Fprintf(c, `<rect x="%d" y="%d" width="110" height="80" rx="4" fill="#ffffff" stroke="%s" stroke-width="1.5"/>`+"\n", x+20, y, ink)
	c.line(x, y+20, x+45, y+20, x+45, y+32)
	c.line(x+45, y+46, x+45, y+60, x, y+60)
	fmt.Fprintf(c, `<path d="M%d %dL%d %dL%d %dZ" fill="none" stroke="%s" stroke-width="1.5"/>`+"\n", x+36, y+32, x+54, y+32, x+45, y+46, ink)
	c.line(x+36, y+46, x+54, y+46)
	c.line(x+62, y+36, x+74, y+36)
	c.line(x+62, y+43, x+74, y+43)
	c.line(x+88, y+26, x+88, y+54)
	c.line(x+88, y+34, x+105, y+20, x+150, y+20)
	c.line(x+88, y+46, x+105, y+60, x+150, y+60)
	c.bold(x+75, y-6, "middle", name)
}

// transistor is an NPN transistor: its base at x, y, its collector at x+30, y-25, its emitter at x+30, y+25.
func (c *canvas) transistor(x, y int, name string) {
	c.symbols = append(c.symbols, symbol{ref: name})
	c.line(x, y, x+14, y)
	c.line(x+14, y-14, x+14, y+14)
	c.line(x+14, y-6, x+30, y-16, x+30, y-25)
	c.line(x+14, y+6, x+30, y+16, x+30, y+25)
	fmt.Fprintf(c, `<path d="M%d %dL%d %dL%d %dZ"/>`+"\n", x+30, y+16, x+21, y+14, x+25, y+8)
	c.bold(x+36, y+5, "start", name)
}
