package timing

import (
	"strconv"

	"hilrig/rig/decode"
	"hilrig/rig/raspberry/pinout"
	"hilrig/rig/signal"
)

// What makes a format supported is this project's own choice, with the decoders in
// rig/decode in view.
const (
	// Uncertainty of a pulse's width, half, as share of its range. Decoders leave out pulses
	// with an uncertainty above 2 %.
	ShareYes, ShareMarginal = 0.005, 0.02

	// Share of commands that are invalidated and left out.
	OutYes, OutMarginal = 0.01, 0.1
)

// MotorSupport says how well a format of motor commands can be captured.
type MotorSupport struct {
	Kind        decode.MotorKind
	Support     pinout.Support
	Samples     float64 // in the shortest pulse of a digital frame; 0 for the others
	Uncertainty float64 // of a pulse's width, half, as share of its range; 0 for digital frames
	Out         float64 // share of commands that are invalidated, 0 to 1
	Why         string
}

// Pulse returns the pulses of a format whose width is the command, and how far apart those of
// idle and full are.
func Pulse(kind decode.MotorKind) (p decode.Servo, span signal.Time) {
	m := decode.Motor{Kind: kind}
	if kind == decode.ServoPulse {
		m.Servo.Idle, m.Servo.Full = signal.Millisecond, 2*signal.Millisecond
	}
	p = m.Pulse()
	return p, max(p.Full-p.Idle, p.Idle-p.Full)
}

// Support judges a value of which less is better.
func Support(x, yes, marginal float64) pinout.Support {
	switch {
	case x <= yes:
		return pinout.Yes
	case x <= marginal:
		return pinout.Marginal
	}
	return pinout.No
}

// Percent writes a share of 0 or more, with two digits down to a millionth.
func Percent(share float64) string {
	p := 100 * share
	places := 0
	for limit := 10.0; p < limit && places < 4 && p > 0; limit /= 10 {
		places++
	}
	if text := strconv.FormatFloat(p, 'f', places, 64); p == 0 || p >= 0.0001 {
		return text + " %"
	}
	return "under 0.0001 %"
}
