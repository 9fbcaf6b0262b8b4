package pinout

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig/signal"
)

// A stand's command can have the motor turn, as the receiver's throttle can: its pin is low from
// power-up on, and a resistor keeps it there.
func TestAStandsCommandIsKeptLow(t *testing.T) {
	var w Wires
	for _, role := range signal.StandRoles() {
		w.Layout.Lines = append(w.Layout.Lines, signal.Spec(role, signal.NoWheel))
	}
	w, proposed, err := w.Propose()
	require.NoError(t, err)
	assert.Len(t, proposed, len(signal.StandRoles())+4)
	seen := false
	for _, r := range w.Table() {
		if r.Signal != "throttle_command" {
			assert.NotEqual(t, Controller, r.Group, r.Signal)
			continue
		}
		seen = true
		assert.Equal(t, Controller, r.Group)
		assert.True(t, r.Group.Goes())
		assert.Equal(t, Out, r.Direction)
		assert.False(t, PulledUp(r.GPIO))
		assert.Equal(t, "low, by a resistor", r.Boot)
		assert.Equal(t, keepsLow, r.Chain[0])
	}
	assert.True(t, seen)
	assert.Contains(t, string(HeaderSVG("a stand", w.Table())), "throttle_command")
	assert.False(t, Sensor.Goes() || Motor.Goes() || Serial.Goes() || Life.Goes())
}

// What an owner has wired without a sense of the supply, or not at all, is played without: whatever another pin reads would trip.
// To wire, one is proposed.
func TestAnInterlockWithoutASenseIsPlayedWithout(t *testing.T) {
	played, err := Wires{}.ToPlay()
	require.NoError(t, err)
	assert.Zero(t, played.Supply)
	bare := Wires{Stop: 17, Relay: 22, Heartbeat: 27}
	played, err = bare.ToPlay()
	require.NoError(t, err)
	assert.Zero(t, played.Supply)
	proposed, names, err := bare.Propose()
	require.NoError(t, err)
	assert.NotZero(t, proposed.Supply)
	assert.Contains(t, names, "supply")
	bare.Supply = 24
	played, err = bare.ToPlay()
	require.NoError(t, err)
	assert.Equal(t, 24, played.Supply)
}
