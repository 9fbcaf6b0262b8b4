package pinout

import (
	"bytes"
	"fmt"
	"html"
	"io"
	"strings"
)

// WriteTable writes the wiring table as text.
func WriteTable(w io.Writer, rows []Wire) {
	const form = "%-26s %-7s %-4s %-4s %-33s %-9s %-9s %s\n"
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

// wiresAt returns what is wired to each position of the header, nil where nothing is;
// index 0 is position 1.
func wiresAt(rows []Wire) (at [40]*Wire) {
	for i := range rows {
		if r := &rows[i]; r.Position > 0 {
			at[r.Position-1] = r
		}
	}
	return at
}

// Lines of the header that the chip's serial port has together: whatever sends by the
// one has the other too, so that it is not free.
const (
	uartTX = 14
	uartRX = 15
)

// belongsAt says what a position belongs to that no wire leads to, empty where it is
// free; index 0 is position 1.
func belongsAt(rows []Wire) (at [40]string) {
	for i := range rows {
		if r := &rows[i]; r.Group == Serial && r.Direction == Out && r.GPIO == uartTX {
			at[Position(uartRX)-1] = r.Signal + ": RX, not wired"
		}
	}
	return at
}

// WriteHeader draws the header as text, seen from above. Arrows point the way that
// the signal goes.
func WriteHeader(w io.Writer, rows []Wire) {
	at, belongs := wiresAt(rows), belongsAt(rows)
	for i := 0; i < 40; i += 2 {
		left, right := belongs[i], belongs[i+1]
		if right != "" {
			right = "      " + right
		}
		if r := at[i]; r != nil {
			left = r.Signal + map[Direction]string{Out: " <--", In: " -->"}[r.Direction]
		}
		if r := at[i+1]; r != nil {
			right = map[Direction]string{Out: "  --> ", In: "  <-- "}[r.Direction] + r.Signal
		}
		line := fmt.Sprintf("%30s  %6s  %2d | %-2d  %-6s%s", left, Holes[i], i+1, i+2, Holes[i+1], right)
		fmt.Fprintln(w, strings.TrimRight(line, " "))
	}
}

// The colours of positions without a wire.
const (
	free     = "#dfe4ea"
	kept     = "#9aa5b1" // GPIO0 and GPIO1
	earth    = "#11181f"
	supply33 = "#f2c94c"
	supply5  = "#e8590c"
)

// legend explains the colours: those of the groups first, in their order. The words say the same.
var legend = [...]struct {
	x, y      int
	hue, text string
}{
	{40, 664, "#2563a8", "wheel sensors"}, {172, 664, "#8a4fa3", "receiver"}, {272, 664, "#b35c00", "motors"},
	{362, 664, "#0f766e", "serial"}, {442, 664, "#b3261e", "interlock"}, {542, 664, "#5b6472", "reset"},
	{40, 692, supply33, "3.3 V"}, {112, 692, supply5, "5 V: not for a pin"}, {262, 692, earth, "ground"},
	{346, 692, free, "free"}, {416, 692, kept, "kept for the Pi"},
}

// HeaderSVG draws the header, seen from above, as a picture of 760 by 740. Arrows
// point the way that the signal goes.
func HeaderSVG(title string, rows []Wire) []byte {
	var b bytes.Buffer
	b.WriteString(`<svg xmlns="http://www.w3.org/2000/svg" width="760" height="740" viewBox="0 0 760 740" font-family="sans-serif" font-size="13">` + "\n")
	b.WriteString(`<rect width="760" height="740" fill="#ffffff"/><rect x="328" y="66" width="104" height="572" rx="10" fill="#26323d"/>` + "\n")
	fmt.Fprintf(&b, `<text x="380" y="28" text-anchor="middle" font-size="16" font-weight="bold">%s</text>`+"\n", html.EscapeString(title))
	b.WriteString(`<text x="380" y="52" text-anchor="middle" fill="#5b6472">seen from above; even pins at the edge of the Pi, pins 39 and 40 next to its USB sockets</text>` + "\n")
	at, belongs := wiresAt(rows), belongsAt(rows)
	for i := range Holes {
		drawHole(&b, i, at[i], belongs[i])
	}
	for _, k := range legend {
		fmt.Fprintf(&b, `<rect x="%d" y="%d" width="14" height="14" rx="2" fill="%s"/><text x="%d" y="%d">%s</text>`+"\n", k.x, k.y, k.hue, k.x+20, k.y+12, k.text)
	}
	b.WriteString(`<text x="40" y="726" fill="#5b6472">The Pi takes 3.3 V and no more at any pin. What stands between pin and board is in the table.</text>` + "\n")
	b.WriteString("</svg>\n")
	return b.Bytes()
}

// hue is the colour of a group's wires. A stand's command has that of motor commands: a header carries
// those of a board, or that of a stand.
func hue(g Group) string {
	if g == Controller {
		g = Motor
	}
	return legend[g].hue
}

// drawHole draws one position with what is wired to it; nil: nothing is, and it belongs to
// something all the same or, empty, does not.
func drawHole(b *bytes.Buffer, i int, r *Wire, belongs string) {
	h, y, x, side, anchor := Holes[i], 88+28*(i/2), 356, -1, "end"
	if i%2 == 1 {
		x, side, anchor = 404, 1, "start"
	}
	out := func(by int) int { return 380 + side*by } // that far from the middle of the header
	fill, ink := free, "#26323d"
	switch {
	case r != nil:
		fill, ink = hue(r.Group), "#ffffff"
		fmt.Fprintf(b, `<path d="M%d %dH%d" stroke="%s" stroke-width="2"/>`, out(122), y, out(168), fill)
		tip, tail := out(174), out(164)
		if r.Direction == In {
			tip, tail = out(116), out(126)
		}
		fmt.Fprintf(b, `<path d="M%d %dL%d %dL%d %dZ" fill="%s"/>`, tip, y, tail, y-5, tail, y+5, fill)
		fmt.Fprintf(b, `<text x="%d" y="%d" text-anchor="%s">%s</text>`, out(182), y+5, anchor, html.EscapeString(r.Signal))
	case belongs != "":
		fill, ink = legend[Serial].hue, "#ffffff"
		fmt.Fprintf(b, `<text x="%d" y="%d" text-anchor="%s" fill="#5b6472">%s</text>`, out(182), y+5, anchor, html.EscapeString(belongs))
	case h.Supply == "ground":
		fill, ink = earth, "#ffffff"
	case h.Supply == "5 V":
		fill, ink = supply5, "#ffffff"
	case h.GPIO < 0:
		fill = supply33
	case h.GPIO < 2:
		fill = kept
	}
	corner := 11
	if i == 0 {
		corner = 2 // pin 1 is square
	}
	fmt.Fprintf(b, `<rect x="%d" y="%d" width="22" height="22" rx="%d" fill="%s"/><text x="%d" y="%d" text-anchor="middle" font-size="11" fill="%s">%d</text>`,
		x-11, y-11, corner, fill, x, y+4, ink, i+1)
	fmt.Fprintf(b, `<text x="%d" y="%d" text-anchor="%s" fill="#5b6472">%s</text>`+"\n", out(60), y+5, anchor, h)
}
