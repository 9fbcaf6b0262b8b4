package circuit

import (
	"fmt"
	"strconv"
	"strings"
)

// The drawing's size.
const (
	width  = 1480
	height = 2000
)

// Pin is a line of the header as the drawing names it: "GPIO17, pin 11".
type Pin string

// Header is the pins of the interlock on the header of a bench.
type Header struct{ Stop, Relay, Heartbeat, Supply, Out, In, Reset Pin }

// SVG draws the circuit for a supply with the pins of a bench.
func SVG(title string, v Values, h Header) []byte {
	c := &canvas{}
	fmt.Fprintf(c, `<svg xmlns="http://www.w3.org/2000/svg" width="%d" height="%d" viewBox="0 0 %[1]d %[2]d" font-family="sans-serif" font-size="13" fill="%s">`+"\n", width, height, ink)
	fmt.Fprintf(c, `<rect width="%d" height="%d" fill="#ffffff"/>`+"\n", width, height)
	c.styled(width/2, 32, "middle", ` font-size="18" font-weight="bold"`, title)
	c.small(width/2, 52, "middle", "what stands between pack, Pi and motors; contacts drawn without any supply, S1 not pressed; D, Z: diode and Zener diode across the coil")
	c.power(v)
	c.chain()
	c.pi(v, h)
	c.lists(v)
	c.WriteString("</svg>\n")
	return c.Bytes()
}

// power draws the motors' supply.
func (c *canvas) power(v Values) {
	c.bold(40, 92, "start", "The motors' supply")
	const plus, minus, pre = 140, 280, 200
	c.box(80, 210, 80, 180, "pack\n"+strconv.FormatFloat(v.Pack, 'g', 4, 64)+" V")
	c.line(120, plus, 140, plus)
	c.fuse(140, plus, "F1")
	c.line(200, plus, 225, plus)
	c.box(255, plus, 60, 34, "X1")
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
	c.resistor(540, pre, "R1", "pre-charge, "+si(v.PreCharge, "ohm"))
	c.line(600, pre, 680, pre, 680, plus)
	c.dot(680, plus)
	c.dot(760, plus)
	c.line(760, plus, 760, 180)
	c.drop(760, 180, "R2", "bleed\n"+si(v.Bleed, "ohm"))
	c.line(760, 240, 760, minus)
	c.dot(760, minus)
	c.dot(890, plus)
	c.line(890, plus, 890, 170)
	c.box(890, 210, 50, 50, "H1\nlamp")
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
	c.bold(60, top+5, "end", "12 V")
	c.line(66, top, 90, top)
	c.fuse(90, top, "F2, 2 A")
	c.line(150, top, 200, top)
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
	c.line(720, 440, 740, 440)
	c.contact(740, 440, true, "K2 mirror")
	c.line(800, 440, 830, 440)
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

// pi draws what is at the Pi's pins.
func (c *canvas) pi(v Values, h Header) {
	c.bold(40, 700, "start", "At the Pi: 12 V and the pack end at the optocouplers and at the transistors' coils")
	m := Monostables()[0]
	// heartbeat
	c.pin(40, 760, "heartbeat", h.Heartbeat)
	c.line(180, 760, 210, 760)
	c.dot(196, 760)
	c.drop(196, 760, "", "4.7 kohm")
	c.earth(196, 820)
	c.resistor(210, 760, "", "330 ohm")
	c.line(270, 760, 320, 760)
	c.box(390, 775, 140, 90, "U1\n"+m.Family+"\nB in, Q out")
	c.small(390, 838, "middle", si(m.R, "ohm")+", "+si(m.C, "F")+": "+fmt.Sprintf("%.0f ms", 1e3*m.Holds()))
	c.line(460, 775, 480, 775)
	c.resistor(480, 775, "", "1 kohm")
	c.line(540, 775, 560, 775)
	c.transistor(560, 775, "Q1")
	c.line(590, 750, 590, 740, 630, 740)
	c.box(665, 740, 70, 28, "K4 coil")
	c.small(665, 722, "middle", "D, Z across")
	c.line(700, 740, 730, 740)
	c.small(734, 744, "start", "12 V")
	c.earth(590, 800)
	// relay
	c.pin(40, 900, "relay", h.Relay)
	c.line(180, 900, 210, 900)
	c.dot(196, 900)
	c.drop(196, 900, "", "4.7 kohm")
	c.earth(196, 960)
	c.line(210, 900, 480, 900)
	c.resistor(480, 900, "", "1 kohm")
	c.line(540, 900, 560, 900)
	c.transistor(560, 900, "Q2")
	c.line(590, 875, 590, 865, 630, 865)
	c.box(665, 865, 70, 28, "K5 coil")
	c.small(665, 847, "middle", "D, Z across")
	c.line(700, 865, 730, 865)
	c.small(734, 869, "start", "12 V")
	c.earth(590, 925)
	c.small(250, 985, "start", "the emitters of Q1 and Q2 at the Pi's ground, which is the 12 V supply's 0 V;\nthe pack's minus is joined to it at the controllers' signal ground alone")
	// stop and supply
	for i, one := range []struct {
		name, from string
		at         Pin
	}{{"U2", "from R3, behind S1\nand back to 0 V", h.Stop}, {"U3", "from R4, behind K2\nand back to minus", h.Supply}} {
		y := 740 + 140*i
		c.small(880, y+25, "end", one.from)
		c.coupler(890, y, one.name)
		c.line(1040, y+20, 1060, y+20)
		c.small(1066, y+14, "start", "3.3 V, pin 1 or 17")
		c.line(1040, y+60, 1250, y+60)
		c.dot(1100, y+60)
		c.drop(1100, y+60, []string{"R6", "R7"}[i], "10 kohm")
		c.earth(1100, y+120)
		c.pin(1250, y+60, []string{"stop", "supply"}[i], one.at)
	}
	// lines to the board
	c.bold(40, 1040, "start", "Lines to and from a board of 5 V")
	c.pin(40, 1090, "a line out", h.Out)
	c.line(180, 1090, 230, 1090)
	c.box(290, 1090, 126, 34, "74HCT541 at 5 V")
	c.line(353, 1090, 380, 1090)
	c.resistor(380, 1090, "", "330 ohm")
	c.line(440, 1090, 470, 1090)
	c.text(476, 1094, "start", "board")
	c.small(290, 1128, "middle", "enables low by Q3 while the\nboard has its supply")
	c.pin(560, 1090, "a line in", h.In)
	c.line(700, 1090, 720, 1090)
	c.resistor(720, 1090, "", "330 ohm")
	c.line(780, 1090, 810, 1090)
	c.box(875, 1090, 130, 34, "74LVC541 at 3.3 V")
	c.line(940, 1090, 960, 1090)
	c.text(966, 1094, "start", "board")
	c.pin(1040, 1090, "reset", h.Reset)
	c.line(1180, 1090, 1220, 1090)
	c.box(1270, 1090, 100, 34, "74LVC1G07")
	c.line(1320, 1090, 1340, 1090)
	c.resistor(1340, 1090, "", "330 ohm")
	c.text(1406, 1094, "start", "board")
	c.small(1270, 1128, "middle", "open drain; 4.7 kohm from its\ninput to 3.3 V: lets go while\nthe Pi starts or is off")
}

// pin is a pin of the header, whose wire ends at its inner side.
func (c *canvas) pin(x, y int, name string, at Pin) {
	if at == "" {
		at = "no pin"
	}
	c.box(x+70, y, 140, 40, name+"\n"+string(at))
}

// lists writes parts and order.
func (c *canvas) lists(v Values) {
	c.bold(40, 1210, "start", "Parts; hilrig wiring --parts says why")
	y := 1234
	for _, p := range Parts(v) {
		c.bold(40, y, "start", p.Ref)
		c.text(100, y, "start", p.What)
		y += 19
	}
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
