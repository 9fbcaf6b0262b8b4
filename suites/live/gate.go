package live

import (
	"errors"
	"fmt"

	"hilrig/rig/interlock"
	"hilrig/rig/raspberry/preflight"
)

// Ask says whether a person has to confirm the list of a power level before a bench goes
// live. Attended is what --attended says, yes or no; terminal is whether standard input
// is one. The error says why the bench may not go live at all: above signals_only somebody
// has to be there, and nobody is who cannot be asked.
func Ask(power interlock.Power, attended string, terminal bool) (ask bool, err error) {
	powered := Watched(power)
	switch {
	case power >= interlock.Powers:
		return false, fmt.Errorf("the motors are powered at no level that hilrig knows, %v; write motors_powered: signals_only, motors_no_wheels or wheels_off_ground", power)
	case attended != "yes" && attended != "no":
		return false, fmt.Errorf("--attended is %q; write yes or no", attended)
	case attended == "no" && powered:
		return false, fmt.Errorf("--attended=no: the motors are powered as %v, and somebody has to stand by; leave it out, or write motors_powered: signals_only", power)
	case attended == "no":
		return false, nil
	case !terminal && powered:
		return false, fmt.Errorf("the motors are powered as %v, and nobody can confirm that all is ready, as standard input is no terminal; run it on one", power)
	case !terminal:
		return false, errors.New("nobody can confirm that all is ready, as standard input is no terminal; run it on one, or write --attended=no")
	}
	return true, nil
}

// Confirms says whether a line that a person wrote, its end included, confirms a list: it
// has to be the word yes alone, written to its end.
func Confirms(line string) bool { return line == "yes\n" || line == "yes\r\n" }

// Limit returns the share of full command, 0 to 1, beyond which a motor loses its supply:
// what the bench file declares, and [preflight.FirstLimit] where it declares none, which
// is 0.
func Limit(declared float64) float64 {
	if !(declared > 0) {
		return preflight.FirstLimit
	}
	return min(declared, 1)
}

// Watched says whether the motors' commands are watched and held to the limit: at every
// power level at which a motor has its supply.
func Watched(power interlock.Power) bool { return power != interlock.SignalsOnly }
