package chardev

import (
	"fmt"

	"hilrig/rig/decode"
	"hilrig/rig/raspberry/pinout"
	"hilrig/rig/raspberry/timing"
	"hilrig/rig/signal"
)

// What a format asks of the kernel: the edges a second of four motors' pulses, at the
// frame rates that firmware sends them at (common practice, no source): servo pulses up
// to 400 Hz, OneShot125 up to 2 kHz.
var charNeeds = [decode.MotorKinds]float64{decode.ServoPulse: 4 * 2 * 400, decode.OneShot125: 4 * 2 * 2000}

// widthShare is the share of pulses whose width has to be known as well as is said.
const widthShare = 0.99

// Motors says of each format of motor commands whether it can be captured. Without a
// jumper that is reckoned with stamps [StampUncertainty] apart, as others measured them. The
// bits of DShot are too short for any stamp of a kernel.
func (k *Measurement) Motors() (out []timing.MotorSupport) {
	limits := pinout.Pi5.Limits() // of the character device
	for kind := range decode.MotorKinds {
		f := timing.MotorSupport{Kind: kind, Support: limits.Motors[kind], Why: limits.Reason[kind]}
		switch {
		case kind.Digital():
		case k.Jumper == nil:
			_, span := timing.Pulse(kind)
			f.Uncertainty = StampUncertainty.Seconds() / span.Seconds()
			f.Why = fmt.Sprintf("NOT MEASURED without --jumper; with stamps %s apart, as others saw, its width is known to %s of its range", StampUncertainty.Short(), timing.Percent(f.Uncertainty))
		default:
			k.Jumper.pulse(&f)
		}
		out = append(out, f)
	}
	return out
}

// Motor says of motor commands as a bench declares them whether they can be captured.
func (k *Measurement) Motor(m decode.Motor) timing.MotorSupport { return k.Motors()[m.Kind] }

// pulse judges a pulse whose width is the command, by stamps that were seen. It is no
// better than its limit, for a bench reckons with [StampUncertainty] whatever was measured.
func (j *JumperMeasurement) pulse(f *timing.MotorSupport) {
	switch {
	case j.Widths.Count == 0 && j.Stamps.Count > 0:
		f.Why = "NOT MEASURED: no two edges followed each other as those of a pulse do; ask for more with --edges"
		return
	case j.Widths.Count == 0:
		f.Support, f.Why = pinout.No, "no edge came over the jumper as it was put out"
		return
	}
	p, span := timing.Pulse(f.Kind)
	off := j.Widths.Quantile(widthShare)
	f.Uncertainty = max(off, StampUncertainty).Seconds() / span.Seconds()
	wide := float64(j.Widths.Above(signal.Time(p.MaxUncertainty*float64(span)))) / float64(j.Widths.Count)
	f.Out = min(1, wide+float64(2*float64(j.Lost+j.Extra+j.Turned))/float64(max(j.Heard+j.Lost, 1)))
	f.Support = min(f.Support, timing.Support(f.Uncertainty, max(timing.ShareYes, p.MaxUncertainty/4), p.MaxUncertainty), timing.Support(f.Out, timing.OutYes, timing.OutMarginal))
	f.Why = fmt.Sprintf("its width is known to %s of its range; %s of the pulses are invalidated", timing.Percent(f.Uncertainty), timing.Percent(f.Out))
	if off > StampUncertainty {
		f.Support = min(f.Support, pinout.Marginal)
		f.Why += fmt.Sprintf("; widths by the stamps are off by up to %s, and a bench reckons with %s", off.Short(), StampUncertainty.Short())
	}
	if need := charNeeds[f.Kind]; j.Highest < need {
		f.Support = min(f.Support, timing.Support(-j.Highest, -need, -need/4))
		f.Why += fmt.Sprintf("; edges came without loss up to %s a second, and four motors send up to %s", signal.Digits(j.Highest, 3), signal.Digits(need, 3))
	}
}

// Encoders says what four wheel encoders the machine can play; see [timing.Measurement.Fastest]. The
// rates count as well that were tried over a jumper after the one that was asked for.
func (k *Measurement) Encoders() timing.EncoderSupport {
	call := k.Calls.Quantile(0.5)
	f := k.Fastest(timing.Limit{Rate: 0.5 / max(call, 1).Seconds(), Why: fmt.Sprintf("every edge takes a call of the kernel, half of them longer than %s", call.Short())})
	if k.Jumper == nil || k.Played == 0 || k.For <= 0 {
		return f
	}
	for _, r := range k.Jumper.Rungs {
		to := timing.Limit{Rate: r.Rate, Why: "as far as it was tried over the jumper"}
		if late := 2 / max(r.Late, 1).Seconds(); late < to.Rate {
			to = timing.Limit{Rate: late, Why: fmt.Sprintf("at %s a second one edge in a hundred is later than %s", signal.Digits(r.Rate, 3), r.Late.Short())}
		}
		if !r.Behind && to.Rate > f.Edges {
			f.Raise(to)
		}
	}
	return f
}
