package interlock

import "fmt"

// Power says how the motors of a bench are powered, lowest first.
type Power uint8

// The power levels.
const (
	SignalsOnly     Power = iota // not at all: their lead is off
	MotorsNoWheels               // powered, without wheels on them
	WheelsOffGround              // powered, the wheels free to turn
	Powers                       // how many there are
)

// String returns the level's word, as in files.
func (p Power) String() string {
	words := [Powers]string{"signals_only", "motors_no_wheels", "wheels_off_ground"}
	if p >= Powers {
		return fmt.Sprintf("power level %d", uint8(p))
	}
	return words[p]
}
