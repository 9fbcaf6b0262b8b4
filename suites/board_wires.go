package suites

import (
	"fmt"
	"slices"

	"hilrig/rig/board"
	"hilrig/rig/signal"
	"hilrig/stimulus/wire"
)

// wiresOf has the board read the bench's sensors and receiver and send its commands as the bench
// declares them. It returns how often the yaw rate comes; the error names a wire that the built-in
// board cannot read.
func (s *Setup) wiresOf(b *board.Settings) (yaw signal.Time, err error) {
	w := &s.wiring
	s.fitOutput(b)
	s.fitInputs(b)
	b.BothWays = s.wiring.Motors[0].Lowest() < 0
	b.WheelRadius = s.Car.Car.WheelRadius
	for i := range w.Encoders {
		e, own := &w.Encoders[i], &b.Wheel[i]
		if e.Kind != w.Encoders[0].Kind {
			return 0, fmt.Errorf("%s: the wheel sensors of bench %q are of two kinds; the built-in board reads one", policyBoard, s.Bench.Name)
		}
		switch e.Kind {
		case wire.TachoWheel:
			own.Lines = e.Tacho.Pulses
		case wire.DutyWheel:
			own.Duty = board.DutyInput{Period: e.Duty.Period, Least: e.Duty.Least, Most: e.Duty.Most}
			own.Reverse = e.Duty.Reverse
		default:
			own.Lines, own.Reverse = e.Quadrature.Lines, e.Quadrature.Reverse
		}
	}
	if b.Wheels == board.Tacho && s.Car.Policy.Reverse != 0 {
		return 0, fmt.Errorf("%s: the policy has reverse: %s, and the tachos of bench %q do not tell which way a wheel rolls; leave reverse out, or declare other encoders", policyBoard, s.Car.Policy.Reverse, s.Bench.Name)
	}
	s.receiverOf(b)
	return s.yawOf(b)
}

// receiverOf has the board take its channels as the bench and the car's steering table say.
func (s *Setup) receiverOf(b *board.Settings) {
	w := &s.wiring
	if w.Bus.Port == "" {
		b.ThrottleIdle, b.ThrottleFull = w.Throttle.Low, w.Throttle.High
		b.GainLow, b.GainHigh = w.Gain.Low, w.Gain.High
		for _, p := range []*wire.Pulse{&w.Steer, &w.Throttle, &w.Gain} {
			b.PulseLeast = min(b.PulseLeast, orSo(p.Least, b.PulseLeast)-10*signal.Microsecond)
			b.PulseMost = max(b.PulseMost, p.Most+10*signal.Microsecond)
		}
	} else {
		b.PulseLeast, b.PulseMost = 10*signal.Microsecond, 6*signal.Millisecond
	}
	steering := s.Car.Car.Steering
	if d := s.Car.Policy.Demand; d == nil || !d.SteerLinear {
		for _, p := range steering.Points {
			b.SteerTable = append(b.SteerTable, board.SteerPoint{Width: signal.FromSeconds(p.Pulse), Angle: (p.Left + p.Right) / 2})
		}
	}
	line := steering.Line()
	b.SteerCentre = signal.FromSeconds(line.PulseFor(0))
	b.SteerSpan = 500 * signal.Microsecond
	b.SteerAtSpan = line.AngleFor(line.PulseFor(0) + b.SteerSpan.Seconds())
}

// orSo returns a time, or another where it is 0.
func orSo(t, otherwise signal.Time) signal.Time {
	if t == 0 {
		return otherwise
	}
	return t
}

// yawOf has the board read the first frame that carries the yaw rate.
func (s *Setup) yawOf(b *board.Settings) (period signal.Time, err error) {
	for i := range s.wiring.Frames {
		f := &s.wiring.Frames[i]
		carrying := f.Carrying()
		if !slices.ContainsFunc(carrying, func(x *wire.Field) bool { return x.Channel == "yaw_rate" }) {
			continue
		}
		port := slices.IndexFunc(s.wiring.Ports, func(p signal.PortSpec) bool { return p.Name == f.Port })
		p := &s.wiring.Ports[port]
		if len(f.Request) > 0 {
			return 0, fmt.Errorf("%s: the yaw rate on %s comes on request; the built-in board asks for nothing: give its frame a rate", policyBoard, f.Port)
		}
		b.Baud = p.Baud
		b.YawFrame, err = yawFormat(f)
		b.YawFrame.Line = f.Port
		b.YawFrame.Even, b.YawFrame.OddParity = p.Parity == signal.EvenParity, p.Parity == signal.OddParity
		return f.Period, err
	}
	return 0, fmt.Errorf("%s: no serial port of bench %q carries yaw_rate, without which the built-in board shifts nothing; declare its frame", policyBoard, s.Bench.Name)
}
