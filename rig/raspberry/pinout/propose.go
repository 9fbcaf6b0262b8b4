package pinout

import (
	"fmt"
	"io"
	"maps"
	"slices"

	"hilrig/rig/signal"
)

// The pins that are proposed, in order of choice. Those that mean go are pulled low at
// boot, and so are those of motor commands, whose line leads to the speed controller as well;
// 14 and 15 are left to the serial port. What is played of wheel sensors may stand anywhere.
var (
	lowPins    = []int{23, 24, 25, 17, 22, 27, 26, 16, 20, 21, 19, 18, 13, 12, 11, 10, 9}
	motorPins  = []int{16, 19, 20, 21, 18, 13, 12, 11, 10, 9, 26, 27, 25, 24, 23, 22, 17}
	sensorPins = []int{5, 6, 7, 8, 9, 10, 11, 12, 13, 18, 4, 16, 19, 20, 21, 26, 27, 22, 17, 3, 2}
)

// ToPlay returns w as it is played and tried: with a pin for every wire that it cannot do without and that has none. A serial port
// has no device that its file does not name, for who makes lines safe would leave its line to that; nor is there a sense of the
// supply, for a pin of which its owner knows nothing is no input to trip by. The error is that of Propose.
func (w Wires) ToPlay() (Wires, error) {
	devices, supply := w.Devices, w.Supply
	w, _, err := w.Propose()
	w.Devices, w.Supply = devices, supply
	return w, err
}

// Propose returns w with a pin for every wire that has none, the interlock's among
// them, and the names of those wires in the order of the table. The error says how
// many wires there are too many.
func (w Wires) Propose() (Wires, []string, error) {
	w.Pins = maps.Clone(w.Pins)
	if w.Pins == nil {
		w.Pins = map[string]int{}
	}
	if w.Devices = maps.Clone(w.Devices); w.Devices == nil {
		w.Devices = map[string]string{}
	}
	taken := map[int]bool{14: true, 15: true, w.Stop: true, w.Relay: true, w.Heartbeat: true, w.Supply: true}
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
		case r.Group == Serial && l.Role == signal.SerialData && !w.adapter(l.Name):
			if name := w.serialPins(l, taken); name != "" {
				names = append(names, name)
			} else {
				short += 2
			}
			return
		case r.Group == Serial:
			return
		case r.Group == Receiver || r.Group == Controller:
			from = lowPins
		case r.Direction == In:
			from = motorPins
		}
		if n := choose(l.Name, from); n > 0 {
			w.Pins[l.Name] = n
		}
	}
	// What may stand on few pins chooses first: receiver and serial ports, interlock and reset,
	// what is captured, the rest.
	for choice := range choices {
		if choice == 1 {
			for _, one := range []struct {
				name string
				pin  *int
			}{{"stop", &w.Stop}, {"relay", &w.Relay}, {"heartbeat", &w.Heartbeat}, {"supply", &w.Supply}} {
				if *one.pin == 0 {
					*one.pin = choose(one.name, lowPins)
				}
			}
			if (w.Reset == "line" || w.Reset == "relay") && w.Pins["reset"] == 0 {
				if n := choose("reset", lowPins); n > 0 {
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
		return w, names, fmt.Errorf("the header has %d pins too few for this bench; leave out index lines, use sensors of one wire, or put a serial port on a USB adapter", short)
	}
	return w, names, nil
}

// serialPins gives a serial port on the chip the pins of the first UART that is free, and the
// device where it has none. It returns the port's name, or nothing where no UART is free.
func (w *Wires) serialPins(l signal.LineSpec, taken map[int]bool) string {
	p := w.portOf(l.Name)
	used := slices.Collect(maps.Values(w.Pins))
	for _, u := range w.Model.UARTs() {
		if slices.Contains(used, u.Sends) || u.Sends != 14 && (taken[u.Sends] || taken[u.Sends+1]) {
			continue
		}
		w.Pins[p.Name], w.Pins[p.RequestName()] = u.Sends, u.Sends+1
		taken[u.Sends], taken[u.Sends+1] = true, true
		if w.Devices[p.Name] == "" {
			w.Devices[p.Name] = u.Device
		}
		return p.Name
	}
	return ""
}

// choices is how many times lines choose, one after the other.
const choices = 3

// choice says when a line chooses, 0 first: where few pins would do.
func (w *Wires) choice(l signal.LineSpec) int {
	switch r := w.row(l); {
	case r.Group == Receiver || r.Group == Controller || r.Group == Serial:
		return 0
	case r.Direction == In:
		return 1
	}
	return choices - 1
}

// WriteYAML writes the pins as a bench file has them; those of serial ports stand at the ports.
func WriteYAML(out io.Writer, w *Wires, rows []Wire) {
	fmt.Fprintln(out, "pins:")
	for _, r := range rows {
		if r.GPIO > 0 && r.Group != Serial && r.Group != Interlock {
			fmt.Fprintf(out, "  %s: %s\n", r.Signal, GPIO(r.GPIO))
		}
	}
	fmt.Fprintf(out, "interlock: {stop: %s, relay: %s, heartbeat: %s, supply: %s}\n", GPIO(w.Stop), GPIO(w.Relay), GPIO(w.Heartbeat), GPIO(w.Supply))
	for _, p := range w.Layout.Ports {
		if u, ok := w.Model.UARTAt(w.Pins[p.Name]); ok && !w.adapter(p.Name) {
			fmt.Fprintf(out, "# at port %s: device: %s, pin: %s; config.txt: %s\n", p.Name, w.Devices[p.Name], GPIO(u.Sends), u.Setting)
		}
	}
}
