package registers

import (
	"fmt"
	"math"
	"strconv"

	"hilrig/rig/decode"
	"hilrig/rig/raspberry/pinout"
	"hilrig/rig/signal"
)

// What makes a format fit is this project's own choice, with the decoders in
// rig/decode in view. A quantile of the gaps says how fine the loop samples as a rule;
// the rare long gaps say how many commands are left out.
const (
	gapShare = 0.9999 // of the gaps: those that count as the rule

	// Samples in the shortest pulse of a digital frame. An edge is stamped as up to two
	// gaps late, which leaves no bit open with more than four samples; with three, few
	// frames are left out, with two, most.
	samplesYes, samplesDoubtful = 5, 3

	// Doubt of a pulse's width, half, as share of its range. Decoders leave out pulses
	// with a doubt above 2 %.
	ShareYes, shareDoubtful = 0.005, 0.02

	// Share of commands that fall into long gaps and are left out.
	OutYes, OutDoubtful = 0.01, 0.1
)

// MotorFit says how well a format of motor commands can be captured.
type MotorFit struct {
	Kind    decode.MotorKind
	Fit     pinout.Fit
	Samples float64 // in the shortest pulse of a digital frame; 0 for the others
	Doubt   float64 // of a pulse's width, half, as share of its range; 0 for digital frames
	Out     float64 // share of commands that long gaps spoil, 0 to 1
	Why     string
}

// Motors says of each format of motor commands whether it can be captured.
func (k *Kept) Motors() (out []MotorFit) {
	for kind := range decode.MotorKinds {
		m := decode.Motor{Kind: kind}
		switch {
		case k.Gaps.Count == 0 || k.For <= 0:
			out = append(out, MotorFit{Kind: kind, Why: "nothing was sampled"})
		case kind.Digital():
			out = append(out, k.digital(m))
		default:
			if kind == decode.ServoPulse {
				m.Servo.Idle, m.Servo.Full = signal.Millisecond, 2*signal.Millisecond
			}
			out = append(out, k.pulse(m))
		}
	}
	return out
}

// digital judges frames of 16 bits, of whose time a 0 is high for three eighths.
func (k *Kept) digital(m decode.Motor) MotorFit {
	frame, _ := m.Times()
	bit := frame / 16
	f := MotorFit{Kind: m.Kind, Samples: 0.375 * float64(bit) / float64(max(k.Gaps.Quantile(gapShare), 1))}
	// A gap of a quarter of a bit anywhere in a frame can hide the low part of a 1.
	long := float64(float64(k.Gaps.Above(bit/4))*float64(frame)) + float64(k.Gaps.TimeAbove(bit/4))
	f.Out = min(1, long/float64(k.For))
	f.Fit = min(Fit(-f.Samples, -samplesYes, -samplesDoubtful), Fit(f.Out, OutYes, OutDoubtful))
	f.Why = fmt.Sprintf("its shortest pulse, %s, has %s samples; long gaps spoil %s of the frames", ((frame*3 + 64) / 128).Short(), signal.Digits(f.Samples, 3), Percent(f.Out))
	return f
}

// pulse judges a pulse whose width is the command: each of its ends lies between two
// reads, or in a long gap.
func (k *Kept) pulse(m decode.Motor) MotorFit {
	p := m.Pulse()
	span := float64(max(p.Full-p.Idle, p.Idle-p.Full))
	f := MotorFit{Kind: m.Kind, Doubt: 2 * float64(k.Gaps.Quantile(gapShare)) / span}
	f.Out = min(1, 2*float64(k.Gaps.TimeAbove(signal.Time(p.MaxUncertainty*span)))/float64(k.For))
	f.Fit = min(Fit(f.Doubt, ShareYes, shareDoubtful), Fit(f.Out, OutYes, OutDoubtful))
	f.Why = fmt.Sprintf("its width is known to %s of its range; long gaps spoil %s of the pulses", Percent(f.Doubt), Percent(f.Out))
	return f
}

// Fit judges a value of which less is better.
func Fit(x, yes, doubtful float64) pinout.Fit {
	switch {
	case x <= yes:
		return pinout.Yes
	case x <= doubtful:
		return pinout.Doubtful
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

// EncoderFit says what wheel encoders can be played.
type EncoderFit struct {
	Edges float64 // of four wheels together, per second, at most
	Lines int     // of each encoder, at 90 turns a second, four edges a line, at most
	Why   string  // what limits it
}

// Fastest is how fast a wheel turns at most, in turns a second: 90 is 17 m/s on a
// wheel of 60 mm.
const Fastest = 90

// Encoders says what four wheel encoders the machine can play: the highest rate, no
// higher than was tried, at which every edge is put out, all but one in a hundred no
// later than half the way to the wheel's next.
func (k *Kept) Encoders() (f EncoderFit) {
	if k.Played == 0 || k.For <= 0 {
		return EncoderFit{Why: "no edges were played"}
	}
	f.Edges, f.Why = math.Inf(1), ""
	limit := func(rate float64, why string) {
		if rate < f.Edges {
			f.Edges, f.Why = rate, why
		}
	}
	late, gap := k.Late.Quantile(0.99), k.Gaps.Quantile(gapShare)
	limit(float64(k.Planned)/k.For.Seconds(), "as far as it was tried")
	limit(float64(k.Played)/k.For.Seconds(), fmt.Sprintf("%d edges were skipped", k.Skipped))
	limit(float64(k.Reads)/k.For.Seconds()/2, "every edge takes a turn of the loop")
	limit(2/max(late, 1).Seconds(), fmt.Sprintf("one edge in a hundred is later than %s", late.Short()))
	limit(2/max(gap, 1).Seconds(), fmt.Sprintf("one gap in ten thousand is longer than %s", gap.Short()))
	f.Lines = int(f.Edges / (4 * 4 * Fastest))
	return f
}
