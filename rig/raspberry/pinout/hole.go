package pinout

import "strconv"

// Hole is one position of the 40-pin header.
type Hole struct {
	GPIO   int    // number of the line; -1: none
	Supply string // "3.3 V", "5 V" or "ground" where there is no line
}

// String returns what stands at the position, "GPIO17" or "ground".
func (h Hole) String() string {
	if h.GPIO < 0 {
		return h.Supply
	}
	return GPIO(h.GPIO)
}

// GPIO returns a line's name, "GPIO17".
func GPIO(n int) string { return "GPIO" + strconv.Itoa(n) }

// Holes is the 40-pin header; position 1 has the index 0. Odd positions stand in the row
// towards the inside of the Pi's board, even ones at its edge.
//
// Source: raspberrypi/documentation, gpio-on-raspberry-pi.adoc, from memory.
var Holes = func() (h [40]Hole) {
	for i, n := range [40]int{
		volt3, volt5,
		2, volt5,
		3, ground,
		4, 14,
		ground, 15,
		17, 18,
		27, ground,
		22, 23,
		volt3, 24,
		10, ground,
		9, 25,
		11, 8,
		ground, 7,
		0, 1,
		5, ground,
		6, 12,
		13, ground,
		19, 16,
		26, 20,
		ground, 21,
	} {
		h[i] = Hole{GPIO: n}
		if n < 0 {
			h[i] = Hole{GPIO: -1, Supply: supplies[-n]}
		}
	}
	return h
}()

const (
	volt3  = -1
	volt5  = -2
	ground = -3
)

var supplies = [...]string{"", "3.3 V", "5 V", "ground"}

// Position returns where on the header a GPIO line is, 1 to 40; 0 where it is not.
func Position(gpio int) int {
	for i, h := range Holes {
		if h.GPIO == gpio && gpio >= 0 {
			return i + 1
		}
	}
	return 0
}

// PulledUp says whether the line is pulled high from power-up until a program changes
// it: GPIO0 to GPIO8. The others are pulled low.
func PulledUp(gpio int) bool { return gpio >= 0 && gpio <= 8 }
