package registers

import (
	"fmt"

	"hilrig/rig/decode"
	"hilrig/rig/raspberry/pinout"
	"hilrig/rig/raspberry/timing"
	"hilrig/rig/signal"
)

// What makes a digital format supported is this project's own choice, with the decoders in
// rig/decode in view. A quantile of the gaps says how fine the loop samples as a rule;
// the rare long gaps say how many commands are left out.
const (
	//
	// The kernel's tick, some hundred to a thousand times a second, holds the loop up for 2 to 5 us (assumed).
	// At a turn of 0.25 us that is up to 25 gaps in 100 000: it does not tell how fine the loop samples.
	gapShare = 0.99 // of the gaps: those that count as the rule

	// How uncertain stamps are, as a multiple of decode.DShot.Fineness: up to this some six in ten frames are read.
	finenessMarginal = 1.25

	// Share of the frames of bits that long gaps invalidate, here and there one. On a bench that keeps no exact time a
	// quarter more trials are played than a case asks for, which makes good for a fifth of them. The time in such gaps
	// has the limits of other commands: in a standstill all are missed.
	framesOutYes, framesOutMarginal = 0.15, 0.3

	// statedTolerance is the bit_tolerance that a board's crystal and timer keep (common practice, no source).
	statedTolerance = 0.02
)

// Motors says of each format of motor commands whether it can be captured.
func (k *Measurement) Motors() (out []timing.MotorSupport) {
	for kind := range decode.MotorKinds {
		m := decode.Motor{Kind: kind}
		f := k.Motor(m)
		m.DShot.Tolerance = statedTolerance
		if stated := k.Motor(m); stated.Support > f.Support {
			f.Why += fmt.Sprintf("; with bit_tolerance: %g %%, of a board that keeps it, %s", 100*statedTolerance, map[bool]string{true: "yes", false: "marginal"}[stated.Support == pinout.Yes])
		}
		out = append(out, f)
	}
	return out
}

// Motor says of motor commands as a bench declares them whether they can be captured.
func (k *Measurement) Motor(m decode.Motor) timing.MotorSupport {
	switch {
	case k.Gaps.Count == 0 || k.For <= 0:
		return timing.MotorSupport{Kind: m.Kind, Why: "nothing was sampled"}
	case m.Kind.Digital():
		return k.digital(m)
	}
	return k.pulse(m.Kind)
}

// stamp returns how uncertain the stamps of edges are as a rule, at most two turns where that was not looked at.
func (k *Measurement) stamp() signal.Time {
	if k.Stamps.Count > 0 {
		return max(k.Stamps.Quantile(gapShare), 1)
	}
	return max(2*k.Gaps.Quantile(gapShare), 1)
}

// digital judges frames of 16 bits, of whose time a 0 is high for three eighths.
func (k *Measurement) digital(m decode.Motor) timing.MotorSupport {
	m = m.WithDefaults()
	frame, _ := m.Times()
	bit := frame / 16
	f := timing.MotorSupport{Kind: m.Kind, Samples: 0.375 * float64(bit) / float64(max(k.Gaps.Quantile(gapShare), 1))}
	// A gap of a quarter of a bit anywhere in a frame can hide the low part of a 1.
	unwatched := float64(k.Gaps.TimeAbove(bit/4)) / float64(k.For)
	f.Out = min(1, float64(float64(k.Gaps.Above(bit/4))*float64(frame)/float64(k.For))+unwatched)
	stamp, fine := k.stamp(), m.DShot.Fineness()
	f.Support = min(timing.Support(float64(stamp)/float64(fine), 1, finenessMarginal), timing.Support(f.Out, framesOutYes, framesOutMarginal), timing.Support(unwatched, timing.OutYes, timing.OutMarginal))
	f.Why = fmt.Sprintf("stamps are known to %s, and its bits are told apart up to %s; long gaps invalidate %s of the frames", stamp.Short(), fine.Short(), timing.Percent(f.Out))
	return f
}

// pulse judges a pulse whose width is the command: each of its ends lies between two
// reads, or in a long gap.
func (k *Measurement) pulse(kind decode.MotorKind) timing.MotorSupport {
	p, wide := timing.Pulse(kind)
	span := float64(wide)
	f := timing.MotorSupport{Kind: kind, Uncertainty: 2 * float64(k.Gaps.Quantile(gapShare)) / span}
	f.Out = min(1, 2*float64(k.Gaps.TimeAbove(signal.Time(p.MaxUncertainty*span)))/float64(k.For))
	f.Support = min(timing.Support(f.Uncertainty, timing.ShareYes, timing.ShareMarginal), timing.Support(f.Out, timing.OutYes, timing.OutMarginal))
	f.Why = fmt.Sprintf("its width is known to %s of its range; long gaps invalidate %s of the pulses", timing.Percent(f.Uncertainty), timing.Percent(f.Out))
	return f
}

// Encoders says what four wheel encoders the machine can play; see [timing.Measurement.Fastest].
func (k *Measurement) Encoders() timing.EncoderSupport {
	gap := k.Gaps.Quantile(gapShare)
	return k.Fastest(
		timing.Limit{Rate: float64(k.Reads) / k.For.Seconds() / 2, Why: "every edge takes a turn of the loop"},
		timing.Limit{Rate: 2 / max(gap, 1).Seconds(), Why: fmt.Sprintf("one gap in a hundred is longer than %s", gap.Short())},
	)
}
