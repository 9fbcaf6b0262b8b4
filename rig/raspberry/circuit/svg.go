package circuit

import (
	"fmt"
	"strconv"
	"strings"
)

// The drawing's size.
const (
	width  = 1500
	height = 2230
)

// Pin is a line of the header as the drawing names it: "GPIO17, pin 11".
type Pin string

// Header is what a bench has at its header that the circuit depends on: the pins of its interlock,
// one pin of each kind of line to and from the board, and how the board is restarted. An empty pin:
// there is none.
type Header struct {
	Stop, Relay, Heartbeat, Supply, Out, In, Inverted, Reset Pin

	Goes    bool // a level of Out could make a motor turn
	ResetBy ResetBy
}

// ResetBy is how a board is restarted.
type ResetBy uint8

// The ways to restart a board.
const (
	NoReset ResetBy = iota
	ByLine
	ByRelay
)

// SVG draws the circuit for a supply with the pins of a bench.
func SVG(title string, v Values, h *Header) []byte {
	c := &canvas{}
	fmt.Fprintf(c, `<svg xmlns="http://www.w3.org/2000/svg" width="%d" height="%d" viewBox="0 0 %[1]d %[2]d" font-family="sans-serif" font-size="13" fill="%s">`+"\n", width, height, ink)
	fmt.Fprintf(c, `<rect width="%d" height="%d" fill="#ffffff"/>`+"\n", width, height)
	c.styled(width/2, 32, "middle", ` font-size="18" font-weight="bold"`, title)
	c.small(width/2, 52, "middle", "what stands between pack, Pi and motors; contacts drawn without any supply, S1 not pressed; D, Z: diode and Zener diode across the coil")
	c.schematic(v, h)
	c.lists(v, h)
	c.WriteString("</svg>\n")
	return c.Bytes()
}

// schematic draws all that has symbols.
func (c *canvas) schematic(v Values, h *Header) {
	c.power(v)
	c.chain()
	c.pi(h)
	c.lines(h)
}

// power draws the motors' supply.
func (c *canvas) power(v Values) {
	c.bold(40, 92, "start", "The motors' supply")
	const plus, minus, pre = 140, 280, 200
	c.box(80, 210, 80, 180, "pack\n"+strconv.FormatFloat(v.Pack, 'g', 4, 64)+" V")
	c.line(120, plus, 140, plus)
	c.fuse(140, plus, "F1")
	c.line(200, plus, 225, plus)
	c.part(255, plus, 60, 34, "X1", "")
	c.small(255, plus+36, "middle", "pulled by hand,\nwithin reach")
	c.line(285, plus, 400, plus)
	c.dot(360, plus)
	c.contact(400, plus, false, "K1")
	c.line(460, plus, 560, plus)
	c.contact(560, plus, false, "K2")
	c.line(620, plus, 1270, plus)
	c.small(510, plus+22, "middle", "two DC contactors in series")
	c.line(360, plus, 360, pre, 400, pre)
	c.contact(400, pre, false, "K3")
	c.line(460, pre, 540, pre)
	c.resistor(540, pre, "R1", si(v.PreCharge, "ohm"))
	c.small(570, pre+37, "middle", "pre-charge")
	c.line(600, pre, 680, pre, 680, plus)
	c.dot(680, plus)
	c.dot(760, plus)
	c.line(760, plus, 760, 180)
	c.drop(760, 180, "R2", si(v.Bleed, "ohm"))
	c.small(773, 236, "start", "bleed")
	c.line(760, 240, 760, minus)
	c.dot(760, minus)
	c.dot(890, plus)
	c.line(890, plus, 890, 170)
	c.part(890, 210, 50, 50, "H1", "lamp")
	c.line(890, 170, 890, 185)
	c.line(890, 235, 890, minus)
	c.dot(890, minus)
	c.dot(1000, plus)
	c.drop(1000, plus, "R4", si(v.SenseSeries, "ohm"))
	c.dot(1000, 200)
	c.drop(1000, 200, "R5", si(senseAcross, "ohm"))
	c.line(1000, 260, 1000, minus)
	c.dot(1000, minus)
	c.line(1000, 200, 1110, 200)
	c.line(1000, 270, 1110, 270)
	c.dot(1000, 270)
	c.small(1116, 204, "start", "to the diode")
	c.small(1116, 274, "start", "of U3")
	c.box(1350, 210, 160, 180, "the motors'\nspeed controllers\n"+microfarads(v.Capacitance))
	c.line(120, minus, 1270, minus)
	c.small(520, minus+20, "middle", "the pack's minus leads straight to the controllers; no current of the motors returns through signal ground")
}

// chain draws the coils with what stands in series in them.
func (c *canvas) chain() {
	c.bold(40, 352, "start", "The chain: stop contact, dead-man contact and program contact in series in all coils, on 12 V of their own")
	const top, zero = 400, 640
	c.bold(104, top+5, "end", "G1, 12 V")
	c.line(110, top, 120, top)
	c.fuse(120, top, "F2, 2 A")
	c.line(180, top, 200, top)
	c.contact(200, top, true, "S1 stop")
	c.small(230, top+28, "middle", "latching,\npositive opening")
	c.line(260, top, 320, top)
	c.dot(320, top)
	c.drop(320, top, "R3", "1 kohm")
	c.line(320, 460, 320, 490)
	c.line(320, 490, 370, 490)
	c.small(376, 494, "start", "to the diode of U2, and back to 0 V")
	c.line(320, top, 370, top)
	c.contact(370, top, false, "K4 dead-man")
	c.line(430, top, 480, top)
	c.contact(480, top, false, "K5 program")
	c.line(540, top, 1150, top)
	c.small(900, top-12, "start", "12 V only while S1, K4 and K5 are all closed")

	// the pre-charge relay, which starts only with both contactors open and then holds itself
	c.dot(640, top)
	c.line(640, top, 640, 440)
	c.dot(640, 440)
	c.line(640, 440, 660, 440)
	c.contact(660, 440, true, "K1 mirror")
	c.line(720, 440, 755, 440)
	c.contact(755, 440, true, "K2 mirror")
	c.line(815, 440, 830, 440)
	c.line(640, 440, 640, 500, 700, 500)
	c.contact(700, 500, false, "K3 holds")
	c.line(760, 500, 830, 500, 830, 440)
	c.dot(830, 500)
	c.line(830, 500, 830, 540)
	c.magnet(830, 540, "K3", "pre-charge")
	c.line(830, 600, 830, zero)

	c.dot(990, top)
	c.line(990, top, 990, 440)
	c.vertical(990, 440, "K3")
	c.magnet(990, 540, "KT", "timer")
	c.line(990, 500, 990, 540)
	c.line(990, 600, 990, zero)

	c.line(1150, top, 1150, 440)
	c.vertical(1150, 440, "KT, delayed")
	c.line(1150, 500, 1150, 520)
	c.dot(1150, 520)
	c.line(1150, 520, 1150, 540)
	c.line(1150, 520, 1340, 520, 1340, 540)
	c.magnet(1150, 540, "K1", "")
	c.magnet(1340, 540, "K2", "")
	c.line(1150, 600, 1150, zero)
	c.line(1340, 600, 1340, zero)
	for _, x := range []int{830, 990, 1150} {
		c.dot(x, zero)
	}
	c.line(300, zero, 1340, zero)
	c.bold(294, zero+5, "end", "0 V")
	c.small(60, 560, "start", "The mirror contacts are open where a main\ncontact is welded: K3 does not pull in, and\nnothing is switched on once more.")
}

// vertical is a normally open contact on a vertical wire, from x, y to x, y+60.
func (c *canvas) vertical(x, y int, name string) {
	c.line(x, y, x, y+16)
	c.line(x, y+44, x, y+60)
	c.line(x, y+44, x-13, y+18)
	c.bold(x+10, y+34, "start", name)
}

// lists writes parts, in two columns, and order.
func (c *canvas) lists(v Values, h *Header) {
	const top, second = 1484, 770
	c.bold(40, top-24, "start", "Parts; hilrig wiring --parts says why")
	parts := Parts(v, h)
	rows := (len(parts) + 1) / 2
	for i, p := range parts {
		x, y := 40+(second-40)*(i/rows), top+19*(i%rows)
		c.bold(x, y, "start", p.Ref)
		c.text(x+76, y, "start", p.What)
	}
	y := top + 19*rows
	c.bold(40, y+14, "start", "How soon the supply is opened")
	y = c.numbered(40, y+38, Releases())
	c.bold(40, y+14, "start", "Switched on in this order, and off the other way round")
	y = c.numbered(40, y+38, Order())
	c.small(40, y+14, "start", Caution)
}

// numbered writes lines with their numbers and returns where the next may stand.
func (c *canvas) numbered(x, y int, lines []string) int {
	for i, line := range lines {
		c.text(x, y, "start", strconv.Itoa(i+1)+".  "+strings.TrimSpace(line))
		y += 19
	}
	return y
}
