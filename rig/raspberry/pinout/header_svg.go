package pinout

import (
	"bytes"
	"fmt"
	"html"
)

// The header's drawing: its size, where rows and pads are, and its two inks.
const (
	headerWidth  = 1240
	headerHeight = 752
	middle       = headerWidth / 2
	firstRow     = 92
	rowHeight    = 30
	padFrom      = 22 // from the middle to a pad
	padWidth     = 66
	chainFrom    = padFrom + padWidth + 16 // from the middle to the first part
	ink          = "#1f3a4d"
	faint        = "#6b7c88"
)

// HeaderSVG draws the header, seen from above, as a picture of 1240 by 752: in each pad what
// the position is, in words, and beside it the parts that stand in its line. Arrows point the
// way that the signal goes. Nothing is told by colour.
func HeaderSVG(title string, rows []Wire) []byte {
	var b bytes.Buffer
	fmt.Fprintf(&b, `<svg xmlns="http://www.w3.org/2000/svg" width="%d" height="%d" viewBox="0 0 %[1]d %[2]d" font-family="sans-serif" font-size="13" fill="%s">`+"\n", headerWidth, headerHeight, ink)
	fmt.Fprintf(&b, `<rect width="%d" height="%d" fill="#ffffff"/>`+"\n", headerWidth, headerHeight)
	fmt.Fprintf(&b, `<text x="%d" y="28" text-anchor="middle" font-size="17" font-weight="bold">%s</text>`+"\n", middle, html.EscapeString(title))
	fmt.Fprintf(&b, `<text x="%d" y="52" text-anchor="middle" fill="%s">seen from above; even pins at the edge of the Pi, pins 39 and 40 next to its USB sockets</text>`+"\n", middle, faint)
	fmt.Fprintf(&b, `<path d="M%d 70V%d" stroke="%s" stroke-dasharray="2 5"/>`+"\n", middle, firstRow+rowHeight*20-12, faint)
	at, belongs := wiresAt(rows), belongsAt(rows)
	for i := range Holes {
		drawHole(&b, i, at[i], belongs[i])
	}
	notes := []string{
		"A Pi's pins bear 3.3 V and no more. A box is in the line; a dashed box leads from the line to ground or to 3.3 V.",
		"74LVC parts have their 3.3 V from pin 1 or 17; 74HCT parts 5 V, their outputs off while the board has no supply. U, K: see the circuit.",
	}
	for i, text := range notes {
		fmt.Fprintf(&b, `<text x="40" y="%d" fill="%s">%s</text>`+"\n", headerHeight-38+20*i, faint, html.EscapeString(text))
	}
	b.WriteString("</svg>\n")
	return b.Bytes()
}

// drawHole draws one position with what is wired to it; nil: nothing is, and it belongs to
// something all the same or, empty, does not.
func drawHole(b *bytes.Buffer, i int, r *Wire, belongs string) {
	h, y, side, anchor := Holes[i], firstRow+rowHeight*(i/2), -1, "end"
	if i%2 == 1 {
		side, anchor = 1, "start"
	}
	out := func(by int) int { return middle + side*by } // that far from the middle of the header
	left := func(from, width int) int { return min(out(from), out(from+width)) }
	look, weight := fmt.Sprintf(`fill="#ffffff" stroke="%s"`, faint), "normal"
	switch {
	case r != nil:
		look, weight = fmt.Sprintf(`fill="#e3eef2" stroke="%s" stroke-width="1.6"`, ink), "bold"
	case h.GPIO < 0:
		look = fmt.Sprintf(`fill="#ffffff" stroke="%s" stroke-width="1.6"`, ink)
	}
	fmt.Fprintf(b, `<rect x="%d" y="%d" width="%d" height="22" %s/>`, left(padFrom, padWidth), y-11, padWidth, look)
	fmt.Fprintf(b, `<text x="%d" y="%d" text-anchor="middle" font-size="12" font-weight="%s">%s</text>`, out(padFrom+padWidth/2), y+4, weight, h)
	fmt.Fprintf(b, `<text x="%d" y="%d" text-anchor="middle" font-size="11" fill="%s">%d</text>`, out(11), y+4, faint, i+1)
	switch {
	case r != nil:
		drawChain(b, r, y, side, anchor)
	case belongs != "":
		fmt.Fprintf(b, `<text x="%d" y="%d" text-anchor="%s" fill="%s">%s</text>`, out(chainFrom), y+4, anchor, faint, html.EscapeString(belongs))
	}
	b.WriteString("\n")
}

// drawChain draws the parts in a line, from the pad on, its arrow and its name.
func drawChain(b *bytes.Buffer, r *Wire, y, side int, anchor string) {
	out := func(by int) int { return middle + side*by }
	at := padFrom + padWidth
	for _, p := range r.Chain {
		name, dashed := html.EscapeString(p.Name), ""
		if p.Across {
			dashed = ` stroke-dasharray="3 3"`
		}
		wide := 14 + 13*len(p.Name)/2
		from := at + 10
		fmt.Fprintf(b, `<path d="M%d %dH%d" stroke="%s"/>`, out(at), y, out(from), ink)
		fmt.Fprintf(b, `<rect x="%d" y="%d" width="%d" height="20" rx="3" fill="#ffffff" stroke="%s"%s/>`, min(out(from), out(from+wide)), y-10, wide, ink, dashed)
		fmt.Fprintf(b, `<text x="%d" y="%d" text-anchor="middle" font-size="11">%s</text>`, out(from+wide/2), y+4, name)
		at = from + wide
	}
	tip, tail := at+26, at+17
	if r.Direction == In {
		tip, tail = at+10, at+19
	}
	fmt.Fprintf(b, `<path d="M%d %dH%d" stroke="%s"/><path d="M%d %dL%d %dL%d %dZ" fill="%[4]s"/>`, out(at), y, out(at+26), ink, out(tip), y, out(tail), y-4, out(tail), y+4)
	fmt.Fprintf(b, `<text x="%d" y="%d" text-anchor="%s" font-weight="bold">%s</text>`, out(at+32), y+4, anchor, html.EscapeString(r.Signal))
}
