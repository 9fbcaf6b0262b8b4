package registers

import (
	"fmt"

	"hilrig/rig/decode"
	"hilrig/rig/raspberry/timing"
	"hilrig/rig/signal"
)

// What makes a digital format supported is this project's own choice, with the decoders in
// rig/decode in view. A quantile of the gaps says how fine the loop samples as a rule;
// the rare long gaps say how many commands are left out.
const (
	gapShare = 0.9999 // of the gaps: those that count as the rule

	// Samples in the shortest pulse of a digital frame. An edge is stamped as up to two
	// gaps late, which leaves no bit open with more than four samples; with three, few
	// frames are left out, with two, most.
	samplesYes, samplesMarginal = 5, 3
)

// Motors says of each format of motor commands whether it can be captured.
func (k *Measurement) Motors() (out []timing.MotorSupport) {
	for kind := range decode.MotorKinds {
		switch {
		case k.Gaps.Count == 0 || k.For <= 0:
			out = append(out, timing.MotorSupport{Kind: kind, Why: "nothing was sampled"})
		case kind.Digital():
			out = append(out, k.digital(decode.Motor{Kind: kind}))
		default:
			out = append(out, k.pulse(kind))
		}
	}
	return out
}

// digital judges frames of 16 bits, of whose time a 0 is high for three eighths.
func (k *Measurement) digital(m decode.Motor) timing.MotorSupport {
	frame, _ := m.Times()
	bit := frame / 16
	f := timing.MotorSupport{Kind: m.Kind, Samples: 0.375 * float64(bit) / float64(max(k.Gaps.Quantile(gapShare), 1))}
	// A gap of a quarter of a bit anywhere in a frame can hide the low part of a 1.
	long := float64(float64(k.Gaps.Above(bit/4))*float64(frame)) + float64(k.Gaps.TimeAbove(bit/4))
	f.Out = min(1, long/float64(k.For))
	f.Support = min(timing.Support(-f.Samples, -samplesYes, -samplesMarginal), timing.Support(f.Out, timing.OutYes, timing.OutMarginal))
	f.Why = fmt.Sprintf("its shortest pulse, %s, has %s samples; long gaps invalidate %s of the frames", ((frame*3 + 64) / 128).Short(), signal.Digits(f.Samples, 3), timing.Percent(f.Out))
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
		timing.Limit{Rate: 2 / max(gap, 1).Seconds(), Why: fmt.Sprintf("one gap in ten thousand is longer than %s", gap.Short())},
	)
}
