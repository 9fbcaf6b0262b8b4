package header

import (
	"bytes"
	"fmt"
	"html"
	"io"
)

// WriteTable writes the wiring table as text.
func WriteTable(w io.Writer, rows []Wire) {
	const form = "%-26s %-7s %-4s %-4s %-30s %-9s %-9s %s\n"
	fmt.Fprintf(w, form, "signal", "GPIO", "pin", "", "to a board of 5 V by", "inverter", "series", "at boot")
	for _, r := range rows {
		gpio, position, inverter := "-", "-", "-"
		if r.GPIO > 0 {
			gpio, position = GPIO(r.GPIO), fmt.Sprint(r.Position)
		}
		if r.Inverter {
			inverter = "yes"
		}
		fmt.Fprintf(w, form, r.Signal, gpio, position, r.Direction, r.Shift, inverter, r.Series, r.Boot)
	}
}

// signals names what is wired to each position of the header, with an arrow for its
// direction; index 0 is position 1.
func signals(rows []Wire) (names [40]string, groups [40]Group) {
	for _, r := range rows {
		if r.Position > 0 {
			arrow := " ->"
			if r.Direction == In {
				arrow = " <-"
			}
			names[r.Position-1], groups[r.Position-1] = r.Signal+arrow, r.Group
		}
	}
	return names, groups
}

// WriteHeader draws the header as text, seen from above.
func WriteHeader(w io.Writer, rows []Wire) {
	names, _ := signals(rows)
	for i := 0; i < 40; i += 2 {
		fmt.Fprintf(w, "%28s  %6s  %2d | %-2d  %-6s  %s\n", names[i], Holes[i], i+1, i+2, Holes[i+1], names[i+1])
	}
}

// hues colour the groups in the drawing; the words say the same.
var hues = [...]string{"#2563a8", "#8a4fa3", "#b35c00", "#0f766e", "#b3261e", "#5b6472"}

var legend = [...]string{"wheel sensors", "receiver", "motors", "serial", "interlock", "reset"}

// HeaderSVG draws the header, seen from above, as a picture of 760 by 690.
func HeaderSVG(title string, rows []Wire) []byte {
	names, groups := signals(rows)
	var b bytes.Buffer
	b.WriteString(`<svg xmlns="http://www.w3.org/2000/svg" width="760" height="690" viewBox="0 0 760 690" font-family="sans-serif" font-size="13">` + "\n")
	b.WriteString(`<rect width="760" height="690" fill="#ffffff"/><rect x="328" y="56" width="104" height="572" rx="10" fill="#26323d"/>` + "\n")
	fmt.Fprintf(&b, `<text x="380" y="26" text-anchor="middle" font-size="16" font-weight="bold">%s</text>`+"\n", html.EscapeString(title))
	b.WriteString(`<text x="380" y="46" text-anchor="middle" fill="#5b6472">header seen from above; -&gt; to the board, &lt;- from it; even pins at the edge of the Pi</text>` + "\n")
	for i, h := range Holes {
		right := i%2 == 1
		y := 78 + 28*(i/2)
		x, edge, far, anchor := 356, 328, 300, "end"
		if right {
			x, edge, far, anchor = 404, 432, 460, "start"
		}
		fill, ink, name := "#dfe4ea", "#26323d", names[i]
		switch {
		case name != "":
			fill, ink = hues[groups[i]], "#ffffff"
			fmt.Fprintf(&b, `<path d="M%d %dH%d" stroke="%s" stroke-width="3"/>`, edge, y, far, fill)
		case h.Supply == "ground":
			fill, ink = "#11181f", "#ffffff"
		case h.GPIO < 0:
			fill = "#f2c94c"
		}
		corner := 11
		if i == 0 {
			corner = 2 // pin 1 is square
		}
		fmt.Fprintf(&b, `<rect x="%d" y="%d" width="22" height="22" rx="%d" fill="%s"/><text x="%d" y="%d" text-anchor="middle" font-size="11" fill="%s">%d</text>`,
			x-11, y-11, corner, fill, x, y+4, ink, i+1)
		label := h.String()
		if name != "" && right {
			label += "  " + name
		} else if name != "" {
			label = name + "  " + label
		}
		at := far - 6
		if right {
			at = far + 6
		}
		fmt.Fprintf(&b, `<text x="%d" y="%d" text-anchor="%s" xml:space="preserve">%s</text>`+"\n", at, y+5, anchor, html.EscapeString(label))
	}
	for g, hue := range hues {
		x := 40 + 118*g
		fmt.Fprintf(&b, `<rect x="%d" y="650" width="14" height="14" fill="%s"/><text x="%d" y="662">%s</text>`+"\n", x, hue, x+20, legend[g])
	}
	b.WriteString("</svg>\n")
	return b.Bytes()
}
