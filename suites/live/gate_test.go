package live

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig/interlock"
	"hilrig/rig/raspberry/preflight"
)

func TestWhoMayGoLive(t *testing.T) {
	for _, tt := range []struct {
		name     string
		power    interlock.Power
		attended string
		terminal bool
		ask      bool
		denied   string // empty: it is not
	}{
		{"signals only", interlock.SignalsOnly, "yes", true, true, ""},
		{"no wheels", interlock.MotorsNoWheels, "yes", true, true, ""},
		{"off ground", interlock.WheelsOffGround, "yes", true, true, ""},
		{"signals only, nobody there", interlock.SignalsOnly, "no", true, false, ""},
		{"signals only, nobody there, no terminal", interlock.SignalsOnly, "no", false, false, ""},
		{"no wheels, nobody there", interlock.MotorsNoWheels, "no", true, false, "--attended=no: the motors are powered as motors_no_wheels, and somebody has to stand by"},
		{"off ground, nobody there", interlock.WheelsOffGround, "no", true, false, "--attended=no: the motors are powered as wheels_off_ground, and somebody has to stand by"},
		{"off ground, nobody there, no terminal", interlock.WheelsOffGround, "no", false, false, "somebody has to stand by"},
		{"signals only, no terminal", interlock.SignalsOnly, "yes", false, false, "standard input is no terminal; run it on one, or write --attended=no"},
		{"no wheels, no terminal", interlock.MotorsNoWheels, "yes", false, false, "powered as motors_no_wheels, and nobody can confirm that all is ready, as standard input is no terminal; run it on one"},
		{"off ground, no terminal", interlock.WheelsOffGround, "yes", false, false, "powered as wheels_off_ground, and nobody can confirm that all is ready, as standard input is no terminal; run it on one"},
		{"no word", interlock.SignalsOnly, "", true, false, `--attended is ""; write yes or no`},
		{"another word", interlock.SignalsOnly, "No", true, false, `--attended is "No"; write yes or no`},
		{"no level", interlock.Powers, "yes", true, false, "power level 3; write motors_powered: "},
		{"no level, nobody there", interlock.Power(255), "no", true, false, "power level 255; write motors_powered: "},
	} {
		t.Run(tt.name, func(t *testing.T) {
			ask, err := Ask(tt.power, tt.attended, tt.terminal)
			assert.Equal(t, tt.ask, ask)
			if tt.denied == "" {
				require.NoError(t, err)
				return
			}
			require.ErrorContains(t, err, tt.denied)
		})
	}
}

func TestOnlyYesConfirms(t *testing.T) {
	for _, line := range []string{"yes\n", "yes\r\n"} {
		assert.True(t, Confirms(line), "%q", line)
	}
	for _, line := range []string{"", "\n", "yes", "yes\r", "y\n", "Yes\n", "YES\n", "yes \n", " yes\n", "yes yes\n", "yes\n\n", "yess\n", "no\n", "yes\x00\n", "\x15yes\n"} {
		assert.False(t, Confirms(line), "%q", line)
	}
}

func TestLimitIsLowWhereNoneIsDeclared(t *testing.T) {
	assert.InDelta(t, 0.25, preflight.FirstLimit, 0, "the first limit")
	for _, tt := range []struct{ declared, want float64 }{
		{0, 0.25}, {-1, 0.25}, {0.1, 0.1}, {0.25, 0.25}, {0.7, 0.7}, {1, 1}, {3, 1},
	} {
		assert.InDelta(t, tt.want, Limit(tt.declared), 0, "%v", tt.declared)
	}
}

func TestMotorsAreWatchedWhereverTheyArePowered(t *testing.T) {
	assert.False(t, Watched(interlock.SignalsOnly), "no motor has a supply")
	for power := interlock.SignalsOnly + 1; power < interlock.Powers; power++ {
		assert.True(t, Watched(power), "%v", power)
	}
}

// A level without a list would ask a person to confirm nothing.
func TestEveryLevelHasItsList(t *testing.T) {
	const byHand = "You can pull the motors' supply by hand from where you stand, without reaching over the car and without hilrig."
	assert.NotEmpty(t, List(interlock.SignalsOnly))
	assert.Empty(t, TrialList(interlock.SignalsOnly), "no motor turns")
	for power := interlock.SignalsOnly + 1; power < interlock.Powers; power++ {
		for _, list := range [][]string{List(power), TrialList(power)} {
			assert.Contains(t, list, byHand, "%v", power)
			assert.NotContains(t, list, List(interlock.SignalsOnly)[0], "%v", power)
		}
		assert.NotEqual(t, List(power), TrialList(power), "%v", power)
	}
	assert.NotEqual(t, List(interlock.MotorsNoWheels), List(interlock.WheelsOffGround))
	List(interlock.SignalsOnly)[0] = "nothing"
	assert.NotEqual(t, "nothing", List(interlock.SignalsOnly)[0], "a list is the caller's own")
}
