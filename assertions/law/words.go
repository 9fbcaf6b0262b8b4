package law

import (
	"fmt"
	"slices"
)

// Word is a kind of word that a car file's policy may have at a key. Its constants
// count from 1 in the order of its words; 0 means that the owner left the key out.
type Word interface {
	~uint8
	Words() []string
}

// WordFor returns what a word of a car file stands for, 0 where the kind has no such word.
func WordFor[W Word](word string) W {
	return W(slices.Index(W(0).Words(), word) + 1)
}

// wordOf returns the word of a constant as in car files, "" for 0.
func wordOf[W Word](w W) string {
	switch words := w.Words(); {
	case w == 0:
		return ""
	case int(w) > len(words):
		return fmt.Sprintf("policy word %d", uint8(w))
	default:
		return words[w-1]
	}
}

// TurnFrom says by what the firmware takes the outside of a turn; 0: by the yaw rate.
type TurnFrom uint8

// The two ways of telling the outside.
const (
	TurnFromYawRate TurnFrom = iota + 1
	TurnFromSteer
)

// Words lists the words as in car files, in the order of the constants.
func (TurnFrom) Words() []string { return []string{"yaw_rate", "steer"} }

// String returns the word as in car files.
func (w TurnFrom) String() string { return wordOf(w) }

// OppositeLock says what the board should do when demand and yaw rate have
// opposite signs.
type OppositeLock uint8

// The two policies for opposite lock.
const (
	OppositeLockOversteer OppositeLock = iota + 1
	OppositeLockNoShift
)

// Words lists the words as in car files, in the order of the constants.
func (OppositeLock) Words() []string { return []string{"oversteer", "no_shift"} }

// String returns the word as in car files.
func (w OppositeLock) String() string { return wordOf(w) }

// AtTheLimit says what the board should do when a motor that it would raise is
// at its cap, or one that it would lower at its floor.
type AtTheLimit uint8

// The two policies at a motor's limit: the limited motor stays there and its
// partner moves as it would anyway; or the partner's amount is doubled.
const (
	LimitCap AtTheLimit = iota + 1
	LimitMovePartner
)

// Words lists the words as in car files, in the order of the constants.
func (AtTheLimit) Words() []string { return []string{"cap", "move_partner"} }

// String returns the word as in car files.
func (w AtTheLimit) String() string { return wordOf(w) }

// Reverse says what the board should do when the car rolls backwards.
type Reverse uint8

// ReverseNoShift is the one policy for rolling backwards.
const ReverseNoShift Reverse = 1

// Words lists the words as in car files, in the order of the constants.
func (Reverse) Words() []string { return []string{"no_shift"} }

// String returns the word as in car files.
func (w Reverse) String() string { return wordOf(w) }

// BadChecksum says what the board should do with frames whose checksum is wrong.
type BadChecksum uint8

// BadChecksumIgnored is the one policy for a wrong checksum.
const BadChecksumIgnored BadChecksum = 1

// Words lists the words as in car files, in the order of the constants.
func (BadChecksum) Words() []string { return []string{"ignored"} }

// String returns the word as in car files.
func (w BadChecksum) String() string { return wordOf(w) }

// Recovers says what a board needs after a loss is over, to drive again.
type Recovers uint8

// The ways of recovery: nothing, the throttle once at idle, or a power cycle.
const (
	RecoversByItself Recovers = iota + 1
	RecoversAtThrottleIdle
	RecoversAtPowerCycle
)

// Words lists the words as in car files, in the order of the constants.
func (Recovers) Words() []string { return []string{"by_itself", "throttle_at_idle", "power_cycle"} }

// String returns the word as in car files.
func (w Recovers) String() string { return wordOf(w) }

// Outputs says what the motor lines carry while no motor may be driven.
type Outputs uint8

// The two states of outputs: commands at idle, or no commands.
const (
	OutputsIdle Outputs = iota + 1
	OutputsSilent
)

// Words lists the words as in car files, in the order of the constants.
func (Outputs) Words() []string { return []string{"idle", "silent"} }

// String returns the word as in car files.
func (w Outputs) String() string { return wordOf(w) }
