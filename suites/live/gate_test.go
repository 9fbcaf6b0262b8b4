package live

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig"
	"hilrig/rig/raspberry"
)

func TestWhoMayGoLive(t *testing.T) {
	for _, tt := range []struct {
		name     string
		power    rig.Power
		attended string
		terminal bool
		ask      bool
		refused  string // empty: it is not
	}{
		{"signals only", rig.SignalsOnly, "yes", true, true, ""},
		{"no wheels", rig.MotorsNoWheels, "yes", true, true, ""},
		{"off ground", rig.WheelsOffGround, "yes", true, true, ""},
		{"signals only, nobody there", rig.SignalsOnly, "no", true, false, ""},
		{"signals only, nobody there, no terminal", rig.SignalsOnly, "no", false, false, ""},
		{"no wheels, nobody there", rig.MotorsNoWheels, "no", true, false, "--attended=no: the motors are powered as motors_no_wheels, and somebody has to stand by"},
		{"off ground, nobody there", rig.WheelsOffGround, "no", true, false, "--attended=no: the motors are powered as wheels_off_ground, and somebody has to stand by"},
		{"off ground, nobody there, no terminal", rig.WheelsOffGround, "no", false, false, "somebody has to stand by"},
		{"signals only, no terminal", rig.SignalsOnly, "yes", false, false, "standard input is no terminal; run it on one, or write --attended=no"},
		{"no wheels, no terminal", rig.MotorsNoWheels, "yes", false, false, "powered as motors_no_wheels, and nobody can confirm that all is ready, as standard input is no terminal; run it on one"},
		{"off ground, no terminal", rig.WheelsOffGround, "yes", false, false, "powered as wheels_off_ground, and nobody can confirm that all is ready, as standard input is no terminal; run it on one"},
		{"no word", rig.SignalsOnly, "", true, false, `--attended is ""; write yes or no`},
		{"another word", rig.SignalsOnly, "No", true, false, `--attended is "No"; write yes or no`},
		{"no level", rig.Powers, "yes", true, false, "power level 3; write motors_powered: "},
		{"no level, nobody there", rig.Power(255), "no", true, false, "power level 255; write motors_powered: "},
	} {
		t.Run(tt.name, func(t *testing.T) {
			ask, err := Ask(tt.power, tt.attended, tt.terminal)
			assert.Equal(t, tt.ask, ask)
			if tt.refused == "" {
				require.NoError(t, err)
				return
			}
			require.ErrorContains(t, err, tt.refused)
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
	assert.InDelta(t, 0.25, raspberry.FirstLimit, 0, "the first limit")
	for _, tt := range []struct{ declared, want float64 }{
		{0, 0.25}, {-1, 0.25}, {0.1, 0.1}, {0.25, 0.25}, {0.7, 0.7}, {1, 1}, {3, 1},
	} {
		assert.InDelta(t, tt.want, Limit(tt.declared), 0, "%v", tt.declared)
	}
}

func TestMotorsAreWatchedWhereverTheyArePowered(t *testing.T) {
	assert.False(t, Watched(rig.SignalsOnly), "no motor has a supply")
	for power := rig.SignalsOnly + 1; power < rig.Powers; power++ {
		assert.True(t, Watched(power), "%v", power)
	}
}

// A level without a list would ask a person to confirm nothing.
func TestEveryLevelHasItsList(t *testing.T) {
	const byHand = "You can pull the motors' supply by hand from where you stand, without reaching over the car and without hilrig."
	assert.NotEmpty(t, List(rig.SignalsOnly))
	assert.Empty(t, TrialList(rig.SignalsOnly), "no motor turns")
	for power := rig.SignalsOnly + 1; power < rig.Powers; power++ {
		for _, list := range [][]string{List(power), TrialList(power)} {
			assert.Contains(t, list, byHand, "%v", power)
			assert.NotContains(t, list, List(rig.SignalsOnly)[0], "%v", power)
		}
		assert.NotEqual(t, List(power), TrialList(power), "%v", power)
	}
	assert.NotEqual(t, List(rig.MotorsNoWheels), List(rig.WheelsOffGround))
	List(rig.SignalsOnly)[0] = "nothing"
	assert.NotEqual(t, "nothing", List(rig.SignalsOnly)[0], "a list is the caller's own")
}
