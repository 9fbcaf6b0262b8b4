package assertions

import (
	"math"
	"slices"

	"hilrig/assertions/law"
	"hilrig/rig/signal"
	"hilrig/stimulus"
)

// never is a time that does not come.
const never = signal.Time(math.MaxInt64)

// inputs are some of what a board goes by, as bits.
type inputs uint8

const (
	steerInput inputs = 1 << iota
	throttleInput
	gainInput
	yawInput
	wheelInputs
	everyInput = steerInput | throttleInput | gainInput | yawInput | wheelInputs
)

// lapse is a while in which a board may by the policy do something else than drive by what goes out on the
// wires: something is lost, or the board was just powered up.
type lapse struct {
	kind *lossKind // nil: the board was just powered up
	loss *law.Loss // nil: nothing is said of it, or it was just powered up
	of   inputs    // what is lost
	from signal.Time
	due  signal.Time // by when it does what is said of the loss; never where that need not come
	end  signal.Time // when the wires are sound again
	free signal.Time // up to when it goes on to do so, where it was due before the end

	lost, broken [4]bool // wheels whose encoders tell nothing, and those of which one line does
}

// inputsOf are what each kind of loss takes from a board, by its key.
var inputsOf = map[string]inputs{
	"receiver_flag": steerInput | throttleInput | gainInput,
	"receiver_lost": steerInput | throttleInput | gainInput,
	"throttle_lost": throttleInput, "steer_lost": steerInput, "gain_lost": gainInput,
	"yaw_lost": yawInput, "yaw_frozen": yawInput, "sequence_frozen": yawInput,
	"encoder_lost": wheelInputs,
}

// lapses returns those of a case, in the order in which they begin, and up to when all that is wrong with the
// wires came after it was seen what the board goes by, and is something that the policy speaks of. answers is how long the board takes to answer.
func (e *Evidence) lapses(answers signal.Time) (all []lapse, until signal.Time) {
	until = never
	for i := range e.Steps {
		s := &e.Steps[i]
		switch {
		case !s.PowerUp:
		case e.policy().StartState == 0:
			until = min(until, s.Applied)
		default:
			all = append(all, lapse{of: everyInput, from: s.Applied, due: never, end: s.To})
		}
		for _, f := range s.Faults {
			unknown := (f.From <= e.Steps[0].Applied) != s.PowerUp // it is not known what the board last went by
			if unknown || !e.speaksOf(&f, s.Faults) {
				until = min(until, f.From)
			}
		}
		for k := range lossKinds { // what was never there since the power-up, a board waits for and has not lost
			if kind := &lossKinds[k]; !s.PowerUp && kind.played(s.Faults) {
				all = append(all, e.lapseOf(kind, s, answers))
			}
		}
	}
	for i := range all {
		e.free(&all[i], all)
	}
	slices.SortStableFunc(all, func(a, b lapse) int { return int(min(max(a.from-b.from, -1), 1)) })
	return all, until
}

// speaksOf says whether the policy says what a board does under one of a step's faults.
func (e *Evidence) speaksOf(f *stimulus.Fault, all []stimulus.Fault) bool {
	p := e.policy()
	if f.Kind == stimulus.Spike {
		return p.Spike != nil && f.Frames <= 1 && isSerial(f.Wire)
	}
	if f.Kind == stimulus.BadPulse {
		return p.BadPulse == law.BadPulseIgnored && f.Frames <= 1
	}
	alone := []stimulus.Fault{*f}
	spoken := false
	for i := range lossKinds {
		if k := &lossKinds[i]; k.played(alone) {
			whole := k.ofOneChannel() && receiverLost(all) && p.ReceiverLost != nil
			if k.of(p) == nil && !whole {
				return false
			}
			spoken = true
		}
	}
	return spoken
}

// ofOneChannel says whether what is lost is one of a receiver's channels.
func (k *lossKind) ofOneChannel() bool {
	return k.key == "throttle_lost" || k.key == "steer_lost" || k.key == "gain_lost"
}

// lapseOf returns the lapse that a loss in a step is.
func (e *Evidence) lapseOf(k *lossKind, s *Step, answers signal.Time) lapse {
	l := lapse{kind: k, loss: k.of(e.policy()), of: inputsOf[k.key], from: s.To, end: s.Applied}
	for _, f := range s.Faults {
		alone := []stimulus.Fault{f}
		if k.played(alone) || k.key == "receiver_lost" && (named("throttle")(f.Wire) || named("steer")(f.Wire)) {
			l.from, l.end = min(l.from, f.From), max(l.end, f.To)
			if f.Kind == stimulus.WrongChecksum && f.Every > 1 {
				l.due = never // there are good frames between
			}
		}
	}
	if k.key == "encoder_lost" {
		for i := range l.lost {
			l.lost[i], l.broken[i] = s.encoderFault(i)
		}
	}
	sub := k.ofOneChannel() && receiverLost(s.Faults) // of what the others do in the meantime, the receiver's own counts
	if l.loss == nil || sub {
		l.due = never
	}
	if l.due != never {
		l.due = l.from + e.tickSlack() + l.loss.Within + answers
	}
	l.free = l.end
	return l
}

// tickSlack is how long after its time a fault may begin, where there is no trace the longest usual.
func (e *Evidence) tickSlack() signal.Time {
	if e.Trace == nil {
		return 2 * signal.Millisecond
	}
	return e.slack()
}

// free works out up to when a board goes on to do what is said of a loss: it needs an idle throttle or a
// power cycle before it drives again. What is near idle, and a throttle that is lost, may be idle to it.
func (e *Evidence) free(l *lapse, all []lapse) {
	if l.loss == nil || goesOn(l.loss) {
		return
	}
	switch recoversFrom(e.policy(), l.loss) { // where what is lost with it asks for more, it may stop driving for that
	case law.RecoversAtPowerCycle:
		l.free = never
	case law.RecoversAtThrottleIdle:
		l.free = never
		for i := range e.Steps {
			s := &e.Steps[i]
			idles := s.Moving || s.Swept || len(s.Changes) > 0 || math.Abs(s.Throttle) < clearThrottle
			if s.To > l.end && idles {
				l.free = min(l.free, max(s.Applied, l.end))
			}
		}
		for i := range all {
			if o := &all[i]; o.of&throttleInput != 0 && o.end > l.end {
				l.free = min(l.free, max(o.from, l.end))
			}
		}
	}
}

// cuts returns the times within from..to at which what a board may do changes, those two included.
func cuts(all []lapse, from, to signal.Time) []signal.Time {
	times := []signal.Time{from, to}
	for i := range all {
		l := &all[i]
		for _, t := range [...]signal.Time{l.from, l.due, l.end, l.end + answered, l.free} {
			if t > from && t < to {
				times = append(times, t)
			}
		}
	}
	slices.Sort(times)
	return slices.Compact(times)
}
