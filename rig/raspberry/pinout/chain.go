package pinout

import (
	"slices"
	"strings"
)

// Part is one of the parts between a pin and what its wire leads to.
type Part struct {
	Name   string
	Across bool // it leads from the line to ground or, High, to 3.3 V, and is not in the line
	High   bool
}

// Parts that the table names: families of logic, not products. A line out passes its buffer
// first and the resistor behind it: the resistor limits what an unpowered board draws from the
// buffer, and ends the cable where it is driven. A line in passes the buffer first, seen from
// the board, and the resistor last: it limits what two outputs against each other draw where a
// program makes the pin an output.
//
// 74HCT takes 2.0 V as high at a supply of 5 V; 74LVC at 3.3 V bears 5 V at its inputs, and
// neither draws nor gives current at its outputs without a supply (data sheets of the
// families, from memory). 330 ohm let through 10 mA at 3.3 V and, less the drop of a clamp
// diode, 13 mA at 5 V; with 50 pF of wire they take 17 ns (computed; common practice, no
// source for the choice).
var (
	buffer5  = Part{Name: "74HCT541 at 5 V"}
	buffer33 = Part{Name: "74LVC541 at 3.3 V"}
	inverter = Part{Name: "74HCT14 inverter at 5 V"}
	series   = Part{Name: "330 ohm"}
	base     = Part{Name: "1 kohm"}
	keepsLow = Part{Name: "4.7 kohm to ground", Across: true}
)

// chainOf returns what stands in a line of the bench.
func chainOf(r *Wire, inverted, adapter bool) []Part {
	switch {
	case adapter && r.GPIO > 0:
		return []Part{series, buffer33, {Name: "the adapter's TX"}}
	case adapter && inverted:
		return []Part{{Name: "the adapter"}, {Name: "inverter"}}
	case adapter:
		return []Part{{Name: "the adapter"}}
	case r.Direction == In:
		return []Part{series, buffer33}
	case inverted:
		return []Part{inverter, series}
	case r.Group.Goes():
		return []Part{keepsLow, buffer5, series}
	}
	return []Part{buffer5, series}
}

// Inverted says whether an inverter stands behind the pin.
func (r *Wire) Inverted() bool { return slices.Contains(r.Chain, inverter) }

// openDrain pulls the board's reset low and otherwise lets it go: without a supply, and while
// the Pi starts, as its input is pulled high, it lets go too.
func openDrain() []Part {
	return []Part{{Name: "4.7 kohm to 3.3 V", Across: true, High: true}, {Name: "74LVC1G07 open drain"}, series}
}

// drives is a transistor that switches a relay's coil.
func drives(relay string) []Part { return []Part{keepsLow, base, {Name: "transistor"}, {Name: relay}} }

// monostable is what the heartbeat triggers.
func monostable() []Part {
	return []Part{keepsLow, series, {Name: "U1 monostable"}, {Name: "K4"}}
}

// isolated is an optocoupler whose transistor pulls the pin up to 3.3 V.
func isolated(name string) []Part {
	return []Part{{Name: "10 kohm to ground", Across: true}, {Name: name + " optocoupler"}}
}

// chainText says the parts one behind the other, those across the line last.
func chainText(chain []Part) string {
	var in, across []string
	for _, p := range chain {
		if p.Across {
			across = append(across, p.Name)
		} else {
			in = append(in, p.Name)
		}
	}
	text := strings.Join(in, ", ")
	if across != nil {
		text += "; " + strings.Join(across, ", ")
	}
	return text
}
