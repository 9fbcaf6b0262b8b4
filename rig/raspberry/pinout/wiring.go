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
	Stop, Relay, Heartbeat, Supply int
	Reset                          string // how the rig restarts the board: "none", "line" or "relay"
	Model                          Model  // what the bench stands on; NoPi: not known
}

// Wire is one row of the wiring table.
type Wire struct {
	Signal    string
	GPIO      int // 0: none
	Position  int // on the header; 0: none
	Direction Direction
	Chain     []Part // what stands between the pin and a board of 5 V, from the pin on
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

// Table returns a row for each wire: receiver, wheel sensors, serial ports, motors,
// reset, interlock.
func (w *Wires) Table() []Wire {
	var rows []Wire
	for _, l := range w.Layout.Lines {
		rows = append(rows, w.row(l))
	}
	if w.Reset == "line" || w.Reset == "relay" {
		r := Wire{Signal: "reset", GPIO: w.Pins["reset"], Chain: openDrain(), Group: Life}
		if w.Reset == "relay" {
			r.Chain = drives("relay in the board's supply")
		}
		rows = append(rows, place(r))
	}
	for _, r := range []Wire{
		{Signal: "stop", GPIO: w.Stop, Direction: In, Chain: isolated("U2")},
		{Signal: "relay", GPIO: w.Relay, Chain: drives("K5")},
		{Signal: "heartbeat", GPIO: w.Heartbeat, Chain: monostable()},
		{Signal: "supply", GPIO: w.Supply, Direction: In, Chain: isolated("U3")},
	} {
		if r.Group = Interlock; r.GPIO > 0 {
			rows = append(rows, place(r))
		}
	}
	return rows
}

// row returns the row of one line.
func (w *Wires) row(l signal.LineSpec) Wire {
	r := Wire{Signal: l.Name, GPIO: w.Pins[l.Name]}
	if l.Direction == signal.Capture {
		r.Direction = In
	}
	inverted, adapter := false, false
	switch {
	case l.Role == signal.SerialData || l.Role == signal.SerialRequest:
		r.Group = Serial
		p := w.portOf(l.Name)
		inverted, adapter = p.Inverted, w.adapter(p.Name)
	case l.Role == signal.Motor:
		r.Group = Motor
	case l.Role.Receiver():
		r.Group = Receiver
	case l.Role == signal.ThrottleCommand:
		r.Group = Controller
	}
	if adapter && r.GPIO > 0 {
		r.Direction = In // it reads the adapter's wire back
	}
	r.Chain = chainOf(&r, inverted, adapter)
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
func (w *Wires) adapter(port string) bool { return OnAdapter(w.Devices[port]) }

// OnAdapter says whether a device file is that of a USB adapter.
func OnAdapter(device string) bool {
	return strings.HasPrefix(device, "/dev/ttyUSB") || strings.HasPrefix(device, "/dev/ttyACM") || strings.HasPrefix(device, "/dev/serial/")
}

// place fills in where a wire is on the header and how it boots.
func place(r Wire) Wire {
	if r.GPIO <= 0 {
		return r
	}
	r.Position = Position(r.GPIO)
	switch {
	case r.Group.Goes() && PulledUp(r.GPIO):
		r.Boot = "HIGH: not to be used"
	case len(r.Chain) > 0 && r.Chain[0].Across:
		r.Boot = "low, by a resistor"
		if r.Chain[0].High {
			r.Boot = "high, by a resistor"
		}
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
