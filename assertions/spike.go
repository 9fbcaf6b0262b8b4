package assertions

import (
	"math"

	"hilrig/plant"
	"hilrig/rig/signal"
	"hilrig/rig/trace"
	"hilrig/stimulus"
)

// spike asks how far a yaw frame that leaps for a moment moves any motor.
func (b *branch) spike() []ask {
	limit, seen := *b.p.Spike, (*branch).shiftBefore
	name := b.name("moves no motor by more than " + share(limit))
	if b.shiftBeforeVanishes() != "" {
		name, seen = name+", shifted or not", (*branch).shiftOrNone
	}
	return []ask{asking(name, func(b *branch) Result {
		f, end, err := b.faultOn(isSerial, "yaw_serial", stimulus.Spike)
		var on trace.Sent
		if err == nil {
			on, err = b.spikeOnWire(f, end)
		}
		if err == nil {
			err = b.tooSmall(f, limit)
		}
		if err != nil {
			return unjudged(name, err)
		}
		x := excursion{name: name, what: "the spike", key: "the policy's spike", told: "a frame that told " + degrees(on.Value) + " deg/s", on: on, end: end, limit: limit, still: limit}
		worst := worstMotor(name, func(w plant.Wheel) (Result, error) { return x.of(b, w) })
		return b.controlled(worst, func() error { return seen(b) })
	})}
}

// spikeOnWire finds the frame of a spike by its value.
func (b *branch) spikeOnWire(f stimulus.Fault, end signal.Time) (trace.Sent, error) {
	for _, x := range b.e.Trace.SentBetween(trace.SentYawRate, f.From, end) {
		if x.Start >= f.From && x.End < end && math.Abs(x.Value-b.s.YawRate) >= math.Abs(f.By)/2 {
			return x, nil
		}
	}
	return trace.Sent{}, b.s.blockedAt(Undecided, f.From, "no frame of %s carried the spike of %s deg/s; %s", f.Wire, degrees(f.By),
		b.e.orCopy("play it where the sensor's range has room for it, and observe on", "with one that the sensor's range has room for"))
}

// tooSmall reports a spike that would break no limit if it were believed.
func (b *branch) tooSmall(f stimulus.Fault, limit float64) error {
	at := b.p.ShiftAt
	if at == nil || !(at.Error > 0) || !(at.Gain > 0) {
		return nil
	}
	if believed := at.Is * math.Abs(f.By) / at.Error * b.s.Gain / at.Gain; believed < 2*limit {
		return b.s.undecided("a board that believed the spike would move a motor by %s, and %s are allowed; %s", share(believed), share(limit),
			b.e.orCopy("play a larger spike or raise the gain", "with a larger spike or more gain, or declare a smaller at_most"))
	}
	return nil
}
