package rig

import (
	"slices"

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
	Bus      wire.Bus          // where it has a port, it carries steer, throttle and gain, and there are no pulses
	Ports    []signal.PortSpec // Line, Asked and Input are filled in by Layout
	Frames   []wire.Frame      // each on one of Ports; those of a port all with a request, or none
	Motors   [4]decode.Motor   // in the order of plant.Wheels
}

// receiverRoles are the lines of a receiver's pulses, in the order of [trace.SentTo].
var receiverRoles = [3]signal.Role{signal.SteerPulse, signal.ThrottlePulse, signal.GainPulse}

// Layout returns the table of lines and ports of this wiring. Driven lines come
// first, in the order steer, throttle, gain, or instead the receiver's bus; each
// wheel sensor's, named as front_left_a; the ports; then the four motor lines, and
// for each port with requests the line that they come on, named as imu_serial_request.
func (w *Wiring) Layout() signal.Layout {
	var l signal.Layout
	port := func(p signal.PortSpec) {
		p.Line = signal.Line(len(l.Lines))
		l.Lines = append(l.Lines, signal.LineSpec{Name: p.Name, Role: signal.SerialData, Idle: !p.Inverted})
		l.Ports = append(l.Ports, p)
	}
	if w.Bus.Port == "" {
		for _, role := range receiverRoles {
			l.Lines = append(l.Lines, signal.Spec(role, signal.NoWheel))
		}
	} else {
		port(w.Bus.Spec())
	}
	for i, wheel := range signal.Wheels {
		for _, role := range w.Encoders[i].Wires() {
			l.Lines = append(l.Lines, signal.Spec(role, wheel))
		}
	}
	for _, p := range w.Ports {
		port(p)
	}
	for i, wheel := range signal.Wheels {
		motor := signal.Spec(signal.Motor, wheel)
		motor.Idle = w.Motors[i].Inverted()
		l.Lines = append(l.Lines, motor)
	}
	for i := range l.Ports {
		if p := &l.Ports[i]; w.asked(p.Name) {
			p.Asked, p.Input = true, signal.Line(len(l.Lines))
			l.Lines = append(l.Lines, signal.LineSpec{Name: p.RequestName(), Role: signal.SerialRequest, Direction: signal.Capture, Idle: !p.Inverted})
		}
	}
	return l
}

// asked says whether a port's frames are sent on request.
func (w *Wiring) asked(port string) bool {
	return slices.ContainsFunc(w.Frames, func(f wire.Frame) bool { return f.Port == port && len(f.Request) > 0 })
}

// Repliers returns what answers the requests on the wiring's ports, one for each that
// has any: to be given to the bench as responders and to [New]. seed is that of the
// rig. The error names the frame that is declared wrongly.
func (w *Wiring) Repliers(seed uint64) ([]*wire.Replier, error) {
	var repliers []*wire.Replier
	for _, p := range w.Layout().Ports {
		if !p.Asked {
			continue
		}
		var frames []wire.Frame
		var noise []wire.Normal
		for _, f := range w.Frames {
			if f.Port == p.Name {
				noise = append(noise, noiseOf(seed, p.Name, len(frames)))
				frames = append(frames, f)
			}
		}
		r, err := wire.NewReplier(p, frames, noise)
		if err != nil {
			return nil, err
		}
		repliers = append(repliers, r)
	}
	return repliers, nil
}
