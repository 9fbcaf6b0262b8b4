package live

import (
	"fmt"
	"io"

	"hilrig/rig/raspberry/circuit"
	"hilrig/rig/raspberry/pinout"
)

// CircuitSVG draws the circuit of a bench or a stand, whose wires have all their pins.
func CircuitSVG(of *Wired, name string, wires *pinout.Wires) []byte {
	var h circuit.Header
	at := map[string]*circuit.Pin{"stop": &h.Stop, "relay": &h.Relay, "heartbeat": &h.Heartbeat, "supply": &h.Supply, "reset": &h.Reset}
	rows := wires.Table()
	for i := range rows {
		r := &rows[i]
		pin := circuit.Pin(fmt.Sprintf("%s, pin %d", pinout.GPIO(r.GPIO), r.Position))
		switch to := at[r.Signal]; {
		case r.GPIO == 0:
		case to != nil:
			*to = pin
		case r.Direction == pinout.Out && h.Out == "":
			h.Out = pin
		case r.Direction == pinout.In && h.In == "":
			h.In = pin
		}
	}
	return circuit.SVG(name, of.Circuit(), h)
}

// WriteParts lists the circuit's parts for what a bench or stand declares.
func WriteParts(w io.Writer, of *Wired) {
	fmt.Fprintln(w)
	circuit.WriteParts(w, of.Circuit())
}
