package assertions

import (
	"fmt"
	"math"

	"hilrig/assertions/law"
	"hilrig/assertions/measure"
	"hilrig/plant"
	"hilrig/rig/signal"
)

// clockSlack is by what share of a time the clock of a board may be off; common practice for
// the oscillators inside of microcontrollers, no source.
const clockSlack = 0.03

// RestOver returns how long after power-up a board may drive at the earliest that is to rest for a time, by the fastest clock that it
// may have.
func RestOver(rest signal.Time) signal.Time {
	return signal.FromSeconds(rest.Seconds() * (1 - clockSlack))
}

// startAtRest asks of the step that begins with the board's power-up, in which the throttle is up:
// as long as the car has not stood still for the policy's time, no motor is driven,
// whether the outputs are at idle or silent. A later step shows that they can be.
func (b *branch) startAtRest() []ask {
	rest, s := *b.p.StartAtRest, b.s
	until, name := s.To, b.name("no drive while the car moves")
	if s.Speed == 0 && s.YawRate == 0 {
		until = s.Applied + RestOver(rest)
		name = b.name("no drive before " + rest.Short())
	}
	err := b.poweredUp()
	if err == nil && until > s.To {
		err = s.undecided("the step is over before the car has stood still for %s; observe longer", rest.Short())
	}
	return []ask{b.undriven(name, until).orUnshown(err)}
}

// arms asks of the step that begins with the board's power-up, in which the throttle is up and
// everything else is as it may be: no motor is driven before the throttle was at idle,
// whether the outputs are at idle or silent. A later step shows that they can be.
func (b *branch) arms() []ask {
	err := b.poweredUp()
	if err == nil && len(b.s.Faults) > 0 {
		err = b.s.undecided("this step has a fault, for which the board may wait as well; leave it out")
	}
	all := []ask{b.undriven(b.name("no drive before the throttle was at idle"), b.s.To).orUnshown(err)}
	if b.p.StartState == law.OutputsIdle {
		all = append(all, b.idleMeanwhile().orUnshown(err))
	}
	return all
}

// idleMeanwhile asks of a board that starts at idle, and waits for the throttle, that it sends something while it waits. Of
// one that starts silent nothing is asked: once each input has been there it may wait at idle.
func (b *branch) idleMeanwhile() ask {
	name := b.name("outputs " + b.p.StartState.String() + " meanwhile")
	return asking(name, func(b *branch) Result {
		if b.e.Trace == nil {
			return unjudged(name, b.s.undecided("the case has no trace"))
		}
		return worstMotor(name, func(w plant.Wheel) (Result, error) {
			n := float64(len(b.sincePowerUp(w, b.s.To)))
			if n == 0 {
				return Result{}, b.e.silent(w, b.s)
			}
			return judged(Result{Name: name, Step: b.s.Name, At: b.s.Applied}, Measurement{Quantity: "commands of " + w.String() + " since power-up", Estimate: n, Low: n, High: n, Limit: AtLeast(1)}), nil
		})
	}).of("start")
}

// undriven asks that no motor is driven from power-up to a time: it is at idle or silent.
func (b *branch) undriven(name string, until signal.Time) ask {
	after := until - b.s.Applied
	return asking(name, func(b *branch) Result {
		if b.e.Trace == nil {
			return unjudged(name, b.s.undecided("the case has no trace"))
		}
		worst := worstMotor(name, func(w plant.Wheel) (Result, error) { return b.undrivenFor(name, w, b.s.Applied+after), nil })
		return b.controlled(worst, b.drivenLater)
	}).of(b.of)
}

// undrivenFor judges one motor.
func (b *branch) undrivenFor(name string, w plant.Wheel, until signal.Time) Result {
	r := Result{Name: name, Step: b.s.Name, At: b.s.Applied}
	frames := b.sincePowerUp(w, until)
	if len(frames) == 0 {
		return judged(r, Measurement{Quantity: "commands of " + w.String() + " since power-up", Limit: AtMost(0)})
	}
	far := farthest(frames, measure.RangeOf(0), b.s)
	r.At = far.End
	r = magnitude(r, "farthest command of "+w.String()+" from idle since power-up", "%", math.Abs(far.Value), far.Uncertainty, b.e.deadShift(), percent)
	why := fmt.Sprintf("%s was commanded to %s at %v, %s after power-up", w, share(far.Value), far.End, (far.End - b.s.Applied).Short())
	return r.tooNear(why, "the policy's dead_shift")
}
