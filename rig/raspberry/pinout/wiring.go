package pinout

import (
	"strings"

	"hilrig/rig/signal"
)

// Wires is what a bench file says of the header.
type Wires struct {
	Layout  signal.Layout
	Pins    map[string]int    // GPIO numbers by line name; "reset" is the board's
	Devices map[string]string // of serial ports
	// The pins of the interlock; 0: not wired.
	Stop, Relay, Heartbeat int
	Reset                  string // how the rig restarts the board: "none", "line" or "relay"
}

// Wire is one row of the wiring table.
type Wire struct {
	Signal    string
	GPIO      int // 0: none
	Position  int // on the header; 0: none
	Direction Direction
	Shift     string // what stands between the pin and a board of 5 V
	Inverter  bool
	Series    string // resistor in the line
	Boot      string // level from power-up until hilrig starts, and what keeps it
	Group     Group
}

// Direction is where a wire's signal goes, seen from the Pi.
type Direction uint8

// The directions.
const (
	Out Direction = iota
	In
)

// String returns "out" or "in".
func (d Direction) String() string { return [...]string{"out", "in"}[d&1] }

// Group is what a wire belongs to.
type Group uint8

// The groups.
const (
	Sensor Group = iota
	Receiver
	Motor
	Serial
	Interlock
	Life       // the board's reset
	Controller // the command that the rig sends a speed controller
)

// Goes says whether a level other than the safe one could make a motor turn.
func (g Group) Goes() bool { return g == Receiver || g == Controller || g == Interlock }

// Parts that the table names: families of logic, not products. 74HCT takes 2.0 V as
// high at a supply of 5 V; 74LVC at 3.3 V bears 5 V at its inputs (data sheets of the
// families, from memory).
const (
	shiftUp   = "74HCT at 5 V"
	shiftDown = "74LVC at 3.3 V"
)

// series is the resistor in each line: it limits what two outputs against each other
// can draw to 10 mA, and with 50 pF of wire takes 17 ns (computed; common practice).
const series = "330 ohm"

// Table returns a row for each wire: receiver, wheel sensors, serial ports, motors,
// reset, interlock.
func (w *Wires) Table() []Wire {
	var rows []Wire
	for _, l := range w.Layout.Lines {
		rows = append(rows, w.row(l))
	}
	if w.Reset == "line" || w.Reset == "relay" {
		r := place(Wire{Signal: "reset", GPIO: w.Pins["reset"], Shift: "open drain, or " + shiftUp, Series: series, Group: Life})
		if w.Reset == "relay" {
			r.Shift, r.Series, r.Boot = "relay driver", "1 kohm", pullDown(r.GPIO)
		}
		rows = append(rows, r)
	}
	for _, r := range []Wire{
		{Signal: "stop", GPIO: w.Stop, Direction: In, Shift: "none: 3.3 V through the contact", Series: "1 kohm"},
		{Signal: "relay", GPIO: w.Relay, Shift: "relay driver", Series: "1 kohm"},
		{Signal: "heartbeat", GPIO: w.Heartbeat, Shift: "monostable's input", Series: series},
	} {
		if r.Group = Interlock; r.GPIO > 0 {
			rows = append(rows, place(r))
		}
	}
	return rows
}

// row returns the row of one line.
func (w *Wires) row(l signal.LineSpec) Wire {
	r := Wire{Signal: l.Name, GPIO: w.Pins[l.Name], Shift: shiftUp, Series: series}
	if l.Direction == signal.Capture {
		r.Direction, r.Shift = In, shiftDown
	}
	switch {
	case l.Role == signal.SerialData || l.Role == signal.SerialRequest:
		r.Group = Serial
		p := w.portOf(l.Name)
		r.Inverter = p.Inverted
		if w.adapter(p.Name) {
			r.Series, r.Shift = "", "the adapter's"
			if r.GPIO > 0 {
				r.Direction, r.Shift, r.Series = In, shiftDown, series // it reads the adapter's wire back
			}
		}
	case l.Role == signal.Motor:
		r.Group = Motor
	case l.Role.Receiver():
		r.Group = Receiver
	case l.Role == signal.ThrottleCommand:
		r.Group = Controller
	}
	return place(r)
}

// portOf returns the port that the line of that name belongs to, one without a name where
// there is none.
func (w *Wires) portOf(line string) signal.PortSpec {
	for _, p := range w.Layout.Ports {
		if line == p.Name || line == p.RequestName() {
			return p
		}
	}
	return signal.PortSpec{}
}

// adapter says whether a port is on a USB adapter.
func (w *Wires) adapter(port string) bool {
	d := w.Devices[port]
	return strings.HasPrefix(d, "/dev/ttyUSB") || strings.HasPrefix(d, "/dev/ttyACM") || strings.HasPrefix(d, "/dev/serial/")
}

// place fills in where a wire is on the header and how it boots.
func place(r Wire) Wire {
	if r.GPIO <= 0 {
		return r
	}
	r.Position = Position(r.GPIO)
	switch {
	case r.Group.Goes():
		r.Boot = pullDown(r.GPIO)
	case r.Group == Serial && r.Direction == Out && r.GPIO == 14:
		r.Boot = "low; text if the serial console is on"
	case r.GPIO == 2 || r.GPIO == 3:
		r.Boot = "high, 1.8 kohm on the Pi"
	case PulledUp(r.GPIO):
		r.Boot = "high"
	default:
		r.Boot = "low"
	}
	return r
}

// pullDown says how a line that means go is kept low.
func pullDown(gpio int) string {
	if gpio > 0 && PulledUp(gpio) {
		return "HIGH: not to be used"
	}
	return "low, 4.7 kohm to ground"
}
