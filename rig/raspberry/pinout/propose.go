package pinout

import (
	"fmt"
	"io"
	"maps"
	"slices"

	"hilrig/rig/signal"
)

// The pins that are proposed, in order of choice. Those that mean go are pulled low at
// boot; 14 and 15 are left to the serial port.
var (
	goPins     = []int{23, 24, 25, 17, 22, 27, 26, 16, 20, 21, 19, 18, 13, 12, 11, 10, 9}
	inputPins  = []int{5, 6, 7, 8, 4, 3, 2, 21, 20, 19, 18, 16, 13, 12, 11, 10, 9, 26, 27}
	sensorPins = []int{9, 10, 11, 12, 13, 16, 18, 19, 20, 21, 26, 27, 8, 7, 6, 5, 4, 3, 2, 22, 17}
)

// Propose returns w with a pin for every wire that has none, the interlock's among
// them, and the names of those wires in the order of the table. The error says how
// many wires there are too many.
func (w Wires) Propose() (Wires, []string, error) {
	w.Pins = maps.Clone(w.Pins)
	if w.Pins == nil {
		w.Pins = map[string]int{}
	}
	taken := map[int]bool{14: true, 15: true, w.Stop: true, w.Relay: true, w.Heartbeat: true}
	for _, n := range w.Pins {
		taken[n] = true
	}
	var names []string
	short := 0
	choose := func(name string, from []int) int {
		i := slices.IndexFunc(from, func(n int) bool { return !taken[n] })
		if i < 0 {
			short++
			return 0
		}
		taken[from[i]] = true
		names = append(names, name)
		return from[i]
	}
	give := func(l signal.LineSpec) {
		if w.Pins[l.Name] > 0 {
			return
		}
		from := sensorPins
		switch r := w.row(l); {
		case r.Group == Serial:
			w.serialPin(l)
			return
		case r.Group == Receiver || r.Group == Controller:
			from = goPins
		case r.Direction == In:
			from = inputPins
		}
		if n := choose(l.Name, from); n > 0 {
			w.Pins[l.Name] = n
		}
	}
	// What may stand on few pins chooses first: the receiver, interlock and reset, what is
	// captured, the rest.
	for choice := range choices {
		if choice == 1 {
			for _, one := range []struct {
				name string
				pin  *int
			}{{"stop", &w.Stop}, {"relay", &w.Relay}, {"heartbeat", &w.Heartbeat}} {
				if *one.pin == 0 {
					*one.pin = choose(one.name, goPins)
				}
			}
			if (w.Reset == "line" || w.Reset == "relay") && w.Pins["reset"] == 0 {
				if n := choose("reset", goPins); n > 0 {
					w.Pins["reset"] = n
				}
			}
		}
		for _, l := range w.Layout.Lines {
			if w.choice(l) == choice {
				give(l)
			}
		}
	}
	if short > 0 {
		return w, names, fmt.Errorf("the header has %d pins too few for this bench; leave out index lines or the interlock, or use sensors of one wire", short)
	}
	return w, names, nil
}

// serialPin gives a serial port on the chip its first pins.
func (w *Wires) serialPin(l signal.LineSpec) {
	if l.Role == signal.SerialData && !w.adapter(l.Name) && !slices.Contains(slices.Collect(maps.Values(w.Pins)), 14) {
		p := w.portOf(l.Name)
		w.Pins[p.Name], w.Pins[p.RequestName()] = 14, 15
	}
}

// choices is how many times lines choose, one after the other.
const choices = 3

// choice says when a line chooses, 0 first: where few pins would do.
func (w *Wires) choice(l signal.LineSpec) int {
	switch r := w.row(l); {
	case r.Group == Receiver || r.Group == Controller:
		return 0
	case r.Direction == In:
		return 1
	}
	return choices - 1
}

// WriteYAML writes the pins as a bench file has them. Those of serial ports are left
// out: they stand at the ports.
func WriteYAML(out io.Writer, w *Wires, rows []Wire) {
	fmt.Fprintln(out, "pins:")
	for _, r := range rows {
		if r.GPIO > 0 && r.Group != Serial && r.Group != Interlock {
			fmt.Fprintf(out, "  %s: %s\n", r.Signal, GPIO(r.GPIO))
		}
	}
	fmt.Fprintf(out, "interlock: {stop: %s, relay: %s, heartbeat: %s}\n", GPIO(w.Stop), GPIO(w.Relay), GPIO(w.Heartbeat))
}
