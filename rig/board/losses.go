package board

import "hilrig/rig/signal"

// Loss is something that the firmware may lose.
type Loss uint8

// The losses, and how many there are.
const (
	ThrottleLost Loss = iota
	SteerLost
	GainLost
	ReceiverLost // all three channels
	ReceiverFlag // frames of the bus go on with the failsafe flag set
	YawLost
	YawFrozen      // frames go on with the same yaw rate
	SequenceFrozen // frames go on with the same count
	EncoderLost
	Losses
)

var lossNames = [Losses]string{"throttle", "steer", "gain", "receiver", "flag", "yaw", "yaw frozen", "sequence", "encoder"}

// Ending is what follows a loss.
type Ending struct {
	Then     Then     // "": idle where the throttle is lost, else no shift
	Recovers Recovery // "": as Settings.Recovers
}

// Then says what the firmware does after a loss.
type Then string

// What the firmware does.
const (
	ThenIdle    Then = "idle"
	ThenNoShift Then = "no_shift"
	ThenIgnored Then = "ignored"       // it goes on with what it saw last
	GainAtValue Then = "gain_at_value" // the gain is taken as GainValue
)

// endingWords are the words of the endings, with what is known of each.
func (s *Settings) endingWords() (words []wordOf) {
	for l, e := range s.Endings {
		then := []string{"", string(ThenIdle), string(ThenNoShift), string(ThenIgnored)}
		if Loss(l) == GainLost {
			then = append(then, string(GainAtValue))
		}
		words = append(words,
			wordOf{"the ending after loss of " + lossNames[l], string(e.Then), then},
			wordOf{"the recovery from loss of " + lossNames[l], string(e.Recovers), []string{"", string(ByItself), string(AtThrottleAtIdle), string(AtPowerCycle)}})
	}
	return words
}

// then returns what follows a loss.
func (s *Settings) then(l Loss) Then {
	switch then := s.Endings[l].Then; {
	case then != "":
		return then
	case l == ThrottleLost, l == ReceiverLost:
		return ThenIdle
	}
	return ThenNoShift
}

// recovers returns how a loss ends once its cause is gone.
func (s *Settings) recovers(l Loss) Recovery {
	if r := s.Endings[l].Recovers; r != "" {
		return r
	}
	return s.Recovers
}

// lost returns what is lost now. The encoders' part is worked out before.
func (b *BuiltIn) lost(now signal.Time, encoders bool) (lost [Losses]bool) {
	s := &b.settings
	lost[EncoderLost] = encoders && !b.has(encoderLossUnnoticed)
	lost[ReceiverLost] = s.ReceiverTimeout > 0 && !b.throttle.fresh(now, s.ReceiverTimeout) &&
		!b.steer.fresh(now, s.ReceiverTimeout) && !b.gain.fresh(now, s.ReceiverTimeout)
	lost[ReceiverFlag] = s.FlagTimeout > 0 && b.channels.flagged(s.FlagTimeout)
	if s.Bus.Line == "" || s.ReceiverTimeout == 0 { // on a bus all are lost together
		lost[ThrottleLost] = !b.throttle.fresh(now, s.ThrottleTimeout) && !b.has(throttleHeld)
		lost[SteerLost] = !b.steer.fresh(now, s.SteerTimeout) && !b.has(steerHeld)
		lost[GainLost] = !b.gain.fresh(now, s.GainTimeout)
	}
	lost[YawLost] = !b.yaw.fresh(now, s.YawTimeout) && !b.has(yawHeld)
	lost[YawFrozen] = b.yaw.frozen(s.YawFrozen) && !b.has(frozenBelieved)
	lost[SequenceFrozen] = s.SequenceTimeout > 0 && b.yaw.counterStands(s.SequenceTimeout)
	b.mistaken(now, &lost)
	return lost
}
