package suites

import (
	"fmt"
	"math"
	"slices"

	"hilrig/assertions/law"
	"hilrig/rig/board"
	"hilrig/rig/signal"
)

// lossesOf has the board answer losses and come up as the policy declares it. The error names
// a loss that the board cannot answer so.
func (s *Setup) lossesOf(b *board.Settings, yaw signal.Time) error {
	p := &s.Car.Policy
	b.Recovers, b.SafeState, b.StartState = board.ByItself, board.Idle, board.Idle
	if p.Recovers != 0 {
		b.Recovers = board.Recovery(p.Recovers.String())
	}
	if p.SafeState == law.OutputsSilent {
		b.SafeState = board.Silent
	}
	if p.StartState == law.OutputsSilent {
		b.StartState = board.Silent
	}
	if p.StartAtRest != nil {
		b.AtRestFor = *p.StartAtRest
	}
	b.ArmsAtIdle = p.Arms == law.RecoversAtThrottleIdle
	receiver := s.receiverPeriod()
	// What may be lost comes every so often; from two to three of that is no loss yet.
	for _, x := range []lossOf{
		{"throttle_lost", board.ThrottleLost, p.ThrottleLost, receiver, 0, &b.ThrottleTimeout},
		{"steer_lost", board.SteerLost, p.SteerLost, receiver, 0, &b.SteerTimeout},
		{"gain_lost", board.GainLost, p.GainLost, receiver, 0, &b.GainTimeout},
		{"receiver_lost", board.ReceiverLost, p.ReceiverLost, receiver, 0, &b.ReceiverTimeout},
		{"receiver_flag", board.ReceiverFlag, p.ReceiverFlag, receiver, receiver, &b.FlagTimeout},
		{"yaw_lost", board.YawLost, p.YawLost, yaw, 0, &b.YawTimeout},
		{"yaw_frozen", board.YawFrozen, p.YawFrozen, yaw, yaw, &b.YawFrozen},
		{"sequence_frozen", board.SequenceFrozen, p.SequenceFrozen, yaw, yaw, &b.SequenceTimeout},
		{"encoder_lost", board.EncoderLost, p.EncoderLost, 5 * signal.Millisecond, 2 * signal.Millisecond, &b.EncoderTimeout},
	} {
		if err := s.answer(b, &x); err != nil {
			return err
		}
	}
	b.EncoderOthers = max(b.EncoderOthers, 3*s.slowestCount(b)/b.EncoderTimeout.Seconds())
	return s.receiverFits(b)
}

// slowestCount returns how far a wheel rolls, m, between two of its sensor's coarsest counts.
func (s *Setup) slowestCount(b *board.Settings) (most float64) {
	for i := range b.Wheel {
		counts := 4 * b.Wheel[i].Lines
		switch b.Wheels {
		case board.Tacho:
			counts = 2 * b.Wheel[i].Lines
		case board.Duty:
			counts = 500
		}
		most = max(most, 2*math.Pi*b.WheelRadius/float64(counts))
	}
	return most
}

// lossOf is a loss with what the board's own constant of it is to be.
type lossOf struct {
	key   string
	of    board.Loss
	loss  *law.Loss   // nil: the policy leaves it out
	every signal.Time // how often what may be lost comes
	late  signal.Time // by how much later than its timeout the board notices
	to    *signal.Time
}

// answer has the board answer one loss.
func (s *Setup) answer(b *board.Settings, x *lossOf) error {
	ending := &b.Endings[x.of]
	if x.loss == nil {
		if *x.to > 0 { // the demo car's board looks at it
			*x.to = max(*x.to, 4*x.every)
		}
		if x.of == board.YawFrozen {
			ending.Then = board.ThenIgnored
		}
		return nil
	}
	if x.loss.Recovers != 0 {
		ending.Recovers = board.Recovery(x.loss.Recovers.String())
	}
	switch x.loss.Then {
	case law.LossIgnored, law.LossHeld:
		ending.Then = board.ThenIgnored
		*x.to = max(*x.to, 4*x.every)
		return nil
	case law.LossIdle:
		ending.Then = board.ThenIdle
	case law.LossValue:
		ending.Then, b.GainValue = board.GainAtValue, x.loss.Value
	default:
		ending.Then = board.ThenNoShift
	}
	after := b.LoopPeriod + 2*b.OutputPeriod + s.longestCommand() + x.late
	*x.to = signal.Time(float64(x.loss.Within)*(1-wayInside)) - after
	if least := 3 * x.every / 2; *x.to < least {
		return fmt.Errorf("%s: %s within %v leaves the built-in board %v to notice; what it would miss comes every %v, and its answer takes %v: declare a longer time, or a faster wire or output",
			policyBoard, x.key, x.loss.Within, max(*x.to, 0), x.every, after)
	}
	return nil
}

// severity orders what a board does after a loss.
var severity = map[board.Then]int{board.ThenIgnored: 0, board.GainAtValue: 0, board.ThenNoShift: 1, board.ThenIdle: 2}

// receiverFits reports that the loss of all pulses asks for less than that of some of them.
func (s *Setup) receiverFits(b *board.Settings) error {
	p := &s.Car.Policy
	if s.wiring.Bus.Port != "" || p.ReceiverLost == nil {
		return nil
	}
	for l, key := range map[board.Loss]string{board.ThrottleLost: "throttle_lost", board.SteerLost: "steer_lost", board.GainLost: "gain_lost"} {
		then := b.Endings[l].Then
		if l == board.ThrottleLost && then == "" {
			then = board.ThenIdle
		} else if then == "" {
			then = board.ThenNoShift
		}
		if declared := slices.Contains(s.Car.Asked, key); severity[then] > severity[b.Endings[board.ReceiverLost].Then] {
			if !declared {
				b.Endings[l].Then = b.Endings[board.ReceiverLost].Then
				continue
			}
			return fmt.Errorf("%s: receiver_lost asks for less than %s, which is lost with it: the built-in board, which sees each pulse for itself, cannot keep both", policyBoard, key)
		}
	}
	return nil
}

// receiverPeriod returns how often the slowest channel of the receiver comes.
func (s *Setup) receiverPeriod() signal.Time {
	w := &s.wiring
	if w.Bus.Port != "" {
		return w.Bus.Period
	}
	return max(w.Steer.Frame, w.Throttle.Frame, w.Gain.Frame)
}
