package chardev

import (
	"fmt"
	"math"

	"hilrig/rig/decode"
	"hilrig/rig/raspberry/pinout"
	"hilrig/rig/raspberry/registers"
	"hilrig/rig/signal"
)

// What a format asks of the kernel: the edges a second of four motors' pulses, at the
// frame rates that firmware sends them at (common practice, no source): servo pulses up
// to 400 Hz, OneShot125 up to 2 kHz.
var charNeeds = [decode.MotorKinds]float64{decode.ServoPulse: 4 * 2 * 400, decode.OneShot125: 4 * 2 * 2000}

// widthShare is the share of pulses whose width has to be known as well as is said.
const widthShare = 0.99

// Motors says of each format of motor commands whether it can be captured. Without a
// jumper that is reckoned with stamps [StampDoubt] apart, as others measured them. The
// bits of DShot are too short for any stamp of a kernel.
func (k *CharKept) Motors() (out []registers.MotorFit) {
	limits := pinout.Pi5.Limits() // of the character device
	for kind := range decode.MotorKinds {
		f := registers.MotorFit{Kind: kind, Fit: limits.Motors[kind], Why: limits.Reason[kind]}
		switch {
		case kind.Digital():
		case k.Jumper == nil:
			f.Doubt = StampDoubt.Seconds() / rangeOf(kind).Seconds()
			f.Why = fmt.Sprintf("NOT MEASURED without --jumper; with stamps %s apart, as others saw, its width is known to %s of its range", StampDoubt.Short(), registers.Percent(f.Doubt))
		default:
			k.Jumper.pulse(&f)
		}
		out = append(out, f)
	}
	return out
}

// rangeOf returns how far apart the widths of idle and full are.
func rangeOf(kind decode.MotorKind) signal.Time {
	p := pulseOf(kind)
	return max(p.Full-p.Idle, p.Idle-p.Full)
}

func pulseOf(kind decode.MotorKind) decode.Servo {
	m := decode.Motor{Kind: kind}
	if kind == decode.ServoPulse {
		m.Servo.Idle, m.Servo.Full = signal.Millisecond, 2*signal.Millisecond
	}
	return m.Pulse()
}

// pulse judges a pulse whose width is the command, by stamps that were seen. It is no
// better than its limit, for a bench reckons with [StampDoubt] whatever was measured.
func (j *JumperKept) pulse(f *registers.MotorFit) {
	switch {
	case j.Widths.Count == 0 && j.Stamps.Count > 0:
		f.Why = "NOT MEASURED: no two edges followed each other as those of a pulse do; ask for more with --edges"
		return
	case j.Widths.Count == 0:
		f.Fit, f.Why = pinout.No, "no edge came over the jumper as it was put out"
		return
	}
	p, span := pulseOf(f.Kind), rangeOf(f.Kind)
	off := j.Widths.Quantile(widthShare)
	f.Doubt = max(off, StampDoubt).Seconds() / span.Seconds()
	wide := float64(j.Widths.Above(signal.Time(p.MaxUncertainty*float64(span)))) / float64(j.Widths.Count)
	f.Out = min(1, wide+float64(2*float64(j.Lost+j.Extra+j.Turned))/float64(max(j.Heard+j.Lost, 1)))
	f.Fit = min(f.Fit, registers.Fit(f.Doubt, max(registers.ShareYes, p.MaxUncertainty/4), p.MaxUncertainty), registers.Fit(f.Out, registers.OutYes, registers.OutDoubtful))
	f.Why = fmt.Sprintf("its width is known to %s of its range; %s of the pulses are spoilt", registers.Percent(f.Doubt), registers.Percent(f.Out))
	if off > StampDoubt {
		f.Fit = min(f.Fit, pinout.Doubtful)
		f.Why += fmt.Sprintf("; widths by the stamps are off by up to %s, and a bench reckons with %s", off.Short(), StampDoubt.Short())
	}
	if need := charNeeds[f.Kind]; j.Highest < need {
		f.Fit = min(f.Fit, registers.Fit(-j.Highest, -need, -need/4))
		f.Why += fmt.Sprintf("; edges came without loss up to %s a second, and four motors send up to %s", signal.Digits(j.Highest, 3), signal.Digits(need, 3))
	}
}

// Encoders says what four wheel encoders the machine can play: the highest rate, no
// higher than was tried, at which every edge is put out, all but one in a hundred no
// later than half the way to the wheel's next.
func (k *CharKept) Encoders() (f registers.EncoderFit) {
	if k.Played == 0 || k.For <= 0 {
		return registers.EncoderFit{Why: "no edges were played"}
	}
	f.Edges = math.Inf(1)
	limit := func(rate float64, why string) {
		if rate < f.Edges {
			f.Edges, f.Why = rate, why
		}
	}
	late, call := k.Late.Quantile(0.99), k.Calls.Quantile(0.5)
	limit(float64(k.Planned)/k.For.Seconds(), "as far as it was tried")
	limit(float64(k.Played)/k.For.Seconds(), fmt.Sprintf("%d edges were skipped", k.Skipped))
	limit(0.5/max(call, 1).Seconds(), fmt.Sprintf("every edge takes a call of the kernel, half of them longer than %s", call.Short()))
	limit(2/max(late, 1).Seconds(), fmt.Sprintf("one edge in a hundred is later than %s", late.Short()))
	k.Jumper.raise(&f)
	f.Lines = int(f.Edges / (4 * 4 * registers.Fastest))
	return f
}

// raise takes the rates into account that were tried over a jumper after the one that was
// asked for.
func (j *JumperKept) raise(f *registers.EncoderFit) {
	if j == nil {
		return
	}
	for _, r := range j.Rungs {
		rate, why := r.Rate, "as far as it was tried over the jumper"
		if late := 2 / max(r.Late, 1).Seconds(); late < rate {
			rate, why = late, fmt.Sprintf("at %s a second one edge in a hundred is later than %s", signal.Digits(r.Rate, 3), r.Late.Short())
		}
		if !r.Behind && rate > f.Edges {
			f.Edges, f.Why = rate, why
		}
	}
}
