package circuit

// lines draws the lines to and from a board, each kind of them once.
func (c *canvas) lines(h *Header) {
	c.bold(40, 1190, "start", "Lines to and from a board of 5 V, each kind once")
	const y = 1250
	if h.Out != "" {
		c.lineOut(y, h)
	}
	if h.In != "" {
		c.pin(560, y, "a line in", h.In)
		c.line(700, y, 720, y)
		c.resistor(720, y, "R21", inLine)
		c.line(780, y, 800, y)
		c.part(872, y, 144, 40, "U5", bufferIn)
		c.line(944, y, 964, y)
		c.text(970, y+4, "start", "board")
	}
	if h.Inverted != "" {
		c.pin(560, y+110, "an inverted line", h.Inverted)
		c.line(700, y+110, 720, y+110)
		c.part(785, y+110, 130, 40, "U7", inverts)
		c.line(850, y+110, 870, y+110)
		c.resistor(870, y+110, "R22", inLine)
		c.line(930, y+110, 950, y+110)
		c.text(956, y+114, "start", "board")
	}
	switch h.ResetBy {
	case ByLine:
		c.pin(1040, y, "reset", h.Reset)
		c.line(1180, y, 1220, y)
		c.dot(1200, y)
		c.bold(1200, y-76, "middle", "3.3 V")
		c.dropLeft(1200, y-70, "R23", low)
		c.line(1200, y-10, 1200, y)
		c.part(1270, y, 100, 40, "U6", openDrain)
		c.line(1320, y, 1340, y)
		c.resistor(1340, y, "R24", inLine)
		c.text(1406, y+4, "start", "board")
		c.small(1270, y+44, "middle", "open drain: lets go while\nthe Pi starts or is off")
	case ByRelay:
		c.pin(1040, y, "reset", h.Reset)
		c.line(1180, y, 1236, y)
		c.keepsLow(1194, y, "R23")
		c.switches(1236, y, [3]string{"R24", "Q4", "R25"}, "K6", "5 V, pin 2 or 4")
		c.small(1194, y+114, "end", "supply of\nthe board's logic")
		c.line(1200, y+110, 1220, y+110)
		c.contact(1220, y+110, false, "K6")
		c.line(1280, y+110, 1300, y+110)
		c.text(1306, y+114, "start", "board")
	}
}

// lineOut draws a line to the board, and what lets its buffer drive it.
func (c *canvas) lineOut(y int, h *Header) {
	c.pin(40, y, "a line out", h.Out)
	c.line(180, y, 267, y)
	if h.Goes {
		c.keepsLow(196, y, "R20")
	}
	c.part(330, y, 126, 40, "U4", bufferOut)
	c.line(393, y, 410, y)
	c.resistor(410, y, "R19", inLine)
	c.line(470, y, 490, y)
	c.text(496, y+4, "start", "board")

	// The buffer's enables, which a transistor pulls low while the board has its supply.
	const base = 1360
	c.line(330, y+20, 330, base-25)
	c.small(338, y+34, "start", "both enables: off while high")
	c.dot(330, base-50)
	c.line(330, base-50, 360, base-50)
	c.resistor(360, base-50, "R18", "10 kohm")
	c.line(420, base-50, 440, base-50)
	c.bold(446, base-45, "start", "5 V")
	c.small(104, base-3, "end", "supply of the\nboard's logic")
	c.line(110, base, 120, base)
	c.resistor(120, base, "R16", "10 kohm")
	c.line(180, base, 300, base)
	c.dot(280, base)
	c.dropLeft(280, base, "R17", low)
	c.transistor(300, base, "Q3")
	c.line(330, base+25, 330, base+60)
	c.line(280, base+60, 330, base+60)
	c.earth(330, base+60)
}
