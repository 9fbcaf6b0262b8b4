package interlock

import (
	"fmt"
	"slices"
)

// Power says how the motors of a bench are powered, lowest first.
type Power uint8

// The power levels.
const (
	SignalsOnly     Power = iota // not at all: their lead is off
	MotorsNoWheels               // powered, without wheels on them
	WheelsOffGround              // powered, the wheels free to turn
	Powers                       // how many there are
)

var powerWords = [Powers]string{"signals_only", "motors_no_wheels", "wheels_off_ground"}

// PowerWords lists the levels' words as in files, lowest first. The slice is the caller's.
func PowerWords() []string { return slices.Clone(powerWords[:]) }

// String returns the level's word, as in files.
func (p Power) String() string {
	if p >= Powers {
		return fmt.Sprintf("power level %d", uint8(p))
	}
	return powerWords[p]
}
