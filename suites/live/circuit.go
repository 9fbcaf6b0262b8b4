package live

import (
	"cmp"
	"fmt"
	"io"

	"hilrig/rig/raspberry/circuit"
	"hilrig/rig/raspberry/pinout"
)

// CircuitSVG draws the circuit of a bench or a stand, whose wires have all their pins.
func CircuitSVG(of *Wired, name string, wires *pinout.Wires) []byte {
	return circuit.SVG(name, of.Circuit(), headerOf(wires))
}

// headerOf returns what of the header the circuit depends on.
func headerOf(wires *pinout.Wires) *circuit.Header {
	h := &circuit.Header{ResetBy: map[string]circuit.ResetBy{"line": circuit.ByLine, "relay": circuit.ByRelay}[wires.Reset]}
	at := map[string]*circuit.Pin{"stop": &h.Stop, "relay": &h.Relay, "heartbeat": &h.Heartbeat, "supply": &h.Supply, "reset": &h.Reset}
	rows := wires.Table()
	for i := range rows {
		r := &rows[i]
		pin := circuit.Pin(fmt.Sprintf("%s, pin %d", pinout.GPIO(r.GPIO), r.Position))
		switch to := at[r.Signal]; {
		case r.GPIO == 0:
		case to != nil:
			*to = pin
		case r.Direction == pinout.In:
			h.In = cmp.Or(h.In, pin)
		case r.Inverted():
			h.Inverted = cmp.Or(h.Inverted, pin)
		case h.Out == "", r.Group.Goes() && !h.Goes:
			h.Out, h.Goes = pin, r.Group.Goes()
		}
	}
	return h
}

// WriteParts lists the circuit's parts for what a bench or stand declares, whose wires have all their
// pins.
func WriteParts(w io.Writer, of *Wired, wires *pinout.Wires) {
	fmt.Fprintln(w)
	circuit.WriteParts(w, of.Circuit(), headerOf(wires))
}
