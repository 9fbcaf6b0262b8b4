package live

import (
	"hilrig/rig/raspberry/hostlines"
	"hilrig/rig/raspberry/pinout"
	"hilrig/rig/raspberry/supervisor"
	"hilrig/rig/signal"
	"hilrig/suites/file"
)

// WiresOf returns what the bench says of the header.
func WiresOf(b *file.Bench) pinout.Wires {
	return pinout.Wires{
		Layout: b.Wiring.Layout(), Pins: b.Pins, Devices: b.Devices, Reset: b.Board.Reset,
		Stop: b.Interlock.Stop, Relay: b.Interlock.Relay, Heartbeat: b.Interlock.Heartbeat, Supply: b.Interlock.Supply, Model: b.Computer,
	}
}

// PinsOf returns the pins of a layout's lines. Those that have none, as the lines of a
// port on an adapter, are given one that is free.
func PinsOf(layout signal.Layout, named map[string]int) hostlines.Pins {
	used := map[int]bool{}
	for _, n := range named {
		used[n] = true
	}
	free := 0
	pins := make(hostlines.Pins, len(layout.Lines))
	for i, l := range layout.Lines {
		n := named[l.Name]
		if n == 0 {
			for used[free] {
				free++
			}
			n = free
			used[n] = true
		}
		pins[i] = uint8(n)
	}
	return pins
}

// partsOf returns the lines of a bench that a supervisor makes safe. Those of ports on a
// device are the device's.
func partsOf(w *pinout.Wires, pins hostlines.Pins, open func() (hostlines.Lines, error)) supervisor.Parts {
	parts := supervisor.Parts{Pins: InterlockPins(w), Open: open}
	device := map[signal.Line]bool{}
	for _, p := range w.Layout.Ports {
		device[p.Line] = w.Devices[p.Name] != ""
	}
	for i, l := range w.Layout.Lines {
		if l.Direction == signal.Drive && !device[signal.Line(i)] {
			parts.Safe = append(parts.Safe, supervisor.Level{GPIO: int(pins[i]), High: l.Idle})
		}
	}
	return parts
}

// InterlockPins returns the pins of the interlock.
func InterlockPins(w *pinout.Wires) supervisor.Pins {
	return supervisor.Pins{Stop: w.Stop, Relay: w.Relay, Heartbeat: w.Heartbeat, Supply: w.Supply}
}
