package assertions

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"hilrig/assertions/law"
	"hilrig/assertions/measure"
	"hilrig/plant"
	"hilrig/rig/signal"
	"hilrig/rig/trace"
	"hilrig/stimulus"
)

// start asks of the step that begins with the board's power-up, in which the
// throttle is up and some input is not valid yet: from power-up to the end of
// the step the outputs are in the policy's start state. A later step without a
// fault and with the throttle up shows that they can be driven.
func (b *branch) start() []ask {
	name := b.name("outputs " + strings.ReplaceAll(b.p.StartState.String(), "_", " ") + " until the inputs are valid")
	s := b.s
	keys := []string{"start"}
	if k := lossPlayed(s.Faults); k != nil {
		switch l := k.of(b.p); {
		case l != nil && l.Then == law.LossIdle:
		case b.waitedFor(s.Faults):
			keys = append(keys, "start_waits_for")
		case l == nil:
			return []ask{notAsking(name, "the policy has no "+k.key+", so that nothing says that the board waits for it")}
		default:
			return []ask{notAsking(name, "by the policy's "+k.key+" the board drives without it, and its start_waits_for does not name it")}
		}
	}
	err := b.poweredUp()
	if err == nil && len(s.Faults) == 0 {
		err = s.undecided("every input is valid in this step; lose one of them: faults: [{wire: yaw_serial, is: lost}]")
	}
	return []ask{asking(name, func(b *branch) Result {
		if b.e.Trace == nil {
			return unjudged(name, b.s.undecided("the case has no trace"))
		}
		worst := worstMotor(name, func(w plant.Wheel) (Result, error) { return b.startOf(name, w) })
		return b.controlled(worst, b.drivenLater)
	}).of(keys...).orUnshown(err)}
}

// inputWires says of each input on which wires it comes.
var inputWires = map[law.Input]func(wire string) bool{
	law.InputThrottle: named("throttle"), law.InputSteer: named("steer"), law.InputGain: named("gain"), law.InputYawRate: isSerial,
}

// waitedFor says whether faults make a board lose an input that by the policy it waits for after power-up.
func (b *branch) waitedFor(faults []stimulus.Fault) bool {
	return slices.ContainsFunc(b.p.StartWaitsFor, func(in law.Input) bool { return faulty(inputWires[in], stimulus.Lost)(faults) })
}

// poweredUp reports a step that the board is not powered up in, or in which idle would say nothing.
func (b *branch) poweredUp() error {
	s := b.s
	switch {
	case !s.PowerUp:
		return s.undecided("the board is not powered up in this step; give the case power_up: yes and judge its first step")
	case !(math.Abs(s.Throttle) > 2*b.e.deadShift()):
		return s.undecided("the throttle stands at %s, so that idle says nothing; raise it", share(s.Throttle))
	}
	return nil
}

// startOf judges one motor's commands since power-up.
func (b *branch) startOf(name string, w plant.Wheel) (Result, error) {
	if b.p.StartState == law.OutputsIdleOrSilent {
		return b.undrivenFor(name, w, b.s.To), nil
	}
	frames := b.sincePowerUp(w, b.s.To)
	if b.p.StartState == law.OutputsSilent {
		n := float64(len(frames))
		r := judged(Result{Name: name, Step: b.s.Name, At: b.s.Applied}, Measurement{Quantity: "commands of " + w.String() + " since power-up", Estimate: n, Low: n, High: n, Limit: AtMost(0)})
		if r.Verdict == Fail {
			r.At = frames[0].End
			r.Why = fmt.Sprintf("%s sent its first command at %v, before the inputs were valid; it should stay silent", line(w), r.At)
		}
		return r, nil
	}
	if len(b.e.frames(w, b.s)) == 0 {
		return Result{}, b.e.silent(w, b.s)
	}
	far := farthest(frames, measure.RangeOf(0), b.s)
	r := magnitude(Result{Name: name, Step: b.s.Name, At: far.End}, "farthest command of "+w.String()+" from idle since power-up", "%",
		math.Abs(far.Value), far.Uncertainty, b.e.deadShift(), percent)
	why := fmt.Sprintf("%s was commanded to %s at %v, %s after power-up, with inputs that were not valid", w, share(far.Value), far.End, (far.End - b.s.Applied).Short())
	return r.tooNear(why, "the policy's dead_shift"), nil
}

// sincePowerUp returns a motor's commands from power-up to a time. A pulse that power-up cut
// short is not one of them.
func (b *branch) sincePowerUp(w plant.Wheel, to signal.Time) []trace.Frame {
	since := *b.s
	since.From, since.To = b.s.Applied, to
	return slices.DeleteFunc(slices.Clone(b.e.frames(w, &since)), func(f trace.Frame) bool { return f.Start < since.From })
}

// drivenLater is the positive control: a later step without a fault is driven.
func (b *branch) drivenLater() error {
	later := b.e.Steps[len(b.earlier())+1:]
	for i := range later {
		if s := &later[i]; s.sound() && math.Abs(s.Throttle) > 2*b.e.deadShift() {
			return b.drivenIn(s)
		}
	}
	return b.s.undecided("the case has no later step in which all inputs are valid and the throttle is up, so that the motors could be seen driven; add one")
}
