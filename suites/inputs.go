package suites

import (
	"hilrig/rig/board"
	"hilrig/rig/signal"
	"hilrig/stimulus/wire"
)

// fitInputs makes the settings read the wheels' sensors and the receiver as the
// bench declares them. A sensor whose sense is reversed is not allowed for.
func (s *Setup) fitInputs(b *board.Settings) {
	w := &s.wiring
	switch first := &w.Encoders[0]; first.Kind {
	case wire.TachoWheel:
		b.Wheels, b.EncoderLines = board.Tacho, first.Tacho.Pulses
	case wire.DutyWheel:
		d := &first.Duty
		b.Wheels = board.Duty
		b.WheelDuty = board.DutyInput{Period: d.Period, Least: d.Least, Most: d.Most}
	default:
		b.EncoderLines = first.Quadrature.Lines
	}
	b.Bus = busOf(s, b.ThrottleIdle, b.ThrottleFull, b.GainLow, b.GainHigh)
}

// busOf returns how the receiver's channels come on a bus, as pulses of those
// widths for throttle and gain; none where the bench has pulses.
func busOf(s *Setup, idle, full, low, high signal.Time) board.BusInput {
	bus := &s.wiring.Bus
	if bus.Port == "" {
		return board.BusInput{}
	}
	channel := func(c *wire.BusChannel, low, high signal.Time) board.BusChannel {
		return board.BusChannel{Number: c.Number, Low: int64(c.Low), High: int64(c.High), LowPulse: low, HighPulse: high}
	}
	return board.BusInput{
		Line:     bus.Port,
		Steer:    channel(&bus.Steer, s.Bench.SteerPulses[0], s.Bench.SteerPulses[1]),
		Throttle: channel(&bus.Throttle, idle, full),
		Gain:     channel(&bus.Gain, low, high),
	}
}
