package rig

import (
	"hilrig/plant"
	"hilrig/rig/decode"
	"hilrig/rig/signal"
	"hilrig/stimulus/wire"
)

// Wiring declares every wire between the rig and one board, with what it
// carries. The zero Tick means 1 ms.
type Wiring struct {
	Tick     signal.Time
	Encoders [4]wire.WheelSensor // in the order of plant.Wheels
	Steer    wire.Pulse
	Throttle wire.Pulse
	Gain     wire.Pulse
	Ports    []signal.PortSpec // Line is filled in by Layout
	Frames   []wire.Frame      // each on one of Ports
	Motors   [4]decode.Motor   // in the order of plant.Wheels
}

// Layout returns the table of lines and ports of this wiring. Driven lines come
// first, in the order steer, throttle, gain; each wheel sensor's, named as
// front_left_a; the ports; then the four motor lines.
func (w *Wiring) Layout() signal.Layout {
	var l signal.Layout
	drive := func(name string, idle bool) signal.Line {
		l.Lines = append(l.Lines, signal.LineSpec{Name: name, Direction: signal.Drive, Idle: idle})
		return signal.Line(len(l.Lines) - 1)
	}
	drive("steer", false)
	drive("throttle", false)
	drive("gain", false)
	for _, wheel := range plant.Wheels {
		for _, one := range w.Encoders[wheel].Wires() {
			drive(wheel.String()+"_"+one, false)
		}
	}
	for _, p := range w.Ports {
		p.Line = drive(p.Name, !p.Inverted)
		l.Ports = append(l.Ports, p)
	}
	for _, wheel := range plant.Wheels {
		l.Lines = append(l.Lines, signal.LineSpec{
			Name:      "motor_" + wheel.String(),
			Direction: signal.Capture,
			Idle:      w.Motors[wheel].Inverted(),
		})
	}
	return l
}
