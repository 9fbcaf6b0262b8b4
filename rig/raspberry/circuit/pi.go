package circuit

import "fmt"

// pi draws what is at the Pi's pins.
func (c *canvas) pi(h *Header) {
	c.bold(40, 700, "start", "At the Pi: 12 V and the pack end at the optocouplers and at the transistors' coils")
	c.heartbeat(h.Heartbeat)
	c.pin(40, 1030, "relay", h.Relay)
	c.line(180, 1030, 460, 1030)
	c.keepsLow(196, 1030, "R11")
	c.switches(460, 1030, [3]string{"R13", "Q2", "R15"}, "K5", "12 V")
	c.small(40, 1130, "start", "the emitters of Q1 and Q2 at the Pi's ground, which is the 12 V supply's 0 V;\nthe pack's minus is joined to it at the controllers' signal ground alone")
	for i, one := range []struct {
		name, from, pulls, to string
		at                    Pin
	}{
		{"U2", "from R3, behind S1\nand back to 0 V", "R6", "stop", h.Stop},
		{"U3", "from R4, behind K2\nand back to minus", "R7", "supply", h.Supply},
	} {
		y := 770 + 190*i
		c.small(880, y+25, "end", one.from)
		c.coupler(890, y, one.name)
		c.line(1040, y+20, 1060, y+20)
		c.small(1066, y+14, "start", "3.3 V, pin 1 or 17")
		c.line(1040, y+60, 1250, y+60)
		c.dot(1100, y+60)
		c.drop(1100, y+60, one.pulls, pullsDown)
		c.earth(1100, y+120)
		c.pin(1250, y+60, one.to, one.at)
	}
}

// heartbeat draws the monostable that holds K4.
func (c *canvas) heartbeat(at Pin) {
	const y = 840
	m := Monostables()[0]
	c.pin(40, y, "heartbeat", at)
	c.line(180, y, 255, y)
	c.keepsLow(196, y, "R10")
	c.resistor(255, y, "R9", inLine)
	c.line(315, y, 320, y)
	c.part(390, y+20, 140, 90, "U1", m.Family+"\nB in, Q out")
	c.bold(360, y-106, "middle", "5 V")
	c.line(360, y-102, 360, y-100)
	c.drop(360, y-100, "R8", si(m.R, "ohm"))
	c.line(360, y-40, 360, y-25)
	c.dot(360, y-40)
	c.capacitor(360, y-40, "C1", si(m.C, "F"))
	c.line(420, y-40, 420, y-25)
	c.small(390, y+79, "middle", fmt.Sprintf("holds %.0f ms", 1e3*m.Holds()))
	c.switches(460, y, [3]string{"R12", "Q1", "R14"}, "K4", "12 V")
}

// switches draws a transistor that switches a coil, from x on: the resistor to its base, itself and
// the resistor from its base to its emitter.
func (c *canvas) switches(x, y int, refs [3]string, coil, from string) {
	c.resistor(x, y, refs[0], toBase)
	c.line(x+60, y, x+140, y)
	c.dot(x+120, y)
	c.dropLeft(x+120, y, refs[2], atBase)
	c.transistor(x+140, y, refs[1])
	c.magnet(x+170, y-85, coil, "")
	c.line(x+170, y-95, x+170, y-85)
	c.bold(x+170, y-100, "middle", from)
	c.line(x+170, y+25, x+170, y+60)
	c.line(x+120, y+60, x+170, y+60)
	c.earth(x+170, y+60)
}

// keepsLow draws the resistor that holds a pin low until the program drives it.
func (c *canvas) keepsLow(x, y int, ref string) {
	c.dot(x, y)
	c.drop(x, y, ref, low)
	c.earth(x, y+60)
}

// pin is a pin of the header, whose wire ends at its inner side.
func (c *canvas) pin(x, y int, name string, at Pin) {
	if at == "" {
		at = "no pin"
	}
	c.box(x+70, y, 140, 40, name+"\n"+string(at))
}
