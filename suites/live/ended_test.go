package live

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig/interlock"
	"hilrig/rig/raspberry/supervisor"
	"hilrig/rig/signal"
	"hilrig/suites/file"
)

// By when the supply has to be gone: what is declared and what was seen, the later of them.
func TestHowSoonTheSupplyHasToBeGone(t *testing.T) {
	declared := file.Interlock{Pack: 25.2, Capacitance: 4000e-6, Bleed: 120, Coast: 4 * signal.Second}
	for _, tt := range []struct {
		name string
		of   file.Interlock
		fell signal.Time
		want signal.Time
	}{
		{"nothing known", file.Interlock{}, 0, 0}, // the interlock's own 2 s
		{"learnt", file.Interlock{}, 900 * signal.Millisecond, 1800 * signal.Millisecond},
		{"learnt at once", file.Interlock{}, 3 * signal.Millisecond, 200 * signal.Millisecond},
		{"declared in part", file.Interlock{Pack: 25.2, Bleed: 120}, 0, 0},
		// CALC: 1.5 x 120 ohm x 4 mF x ln(25.2/1.986) = 1.829 s
		{"declared", declared, 0, 1829 * signal.Millisecond},
		{"declared, and seen to take longer", declared, 2 * signal.Second, 4 * signal.Second},
	} {
		t.Run(tt.name, func(t *testing.T) {
			s := (&Wired{Interlock: tt.of}).SupplyOf(tt.fell)
			assert.InDelta(t, float64(tt.want), float64(s.Falls), float64(signal.Millisecond))
			assert.Equal(t, tt.of.Coast, s.Coast)
		})
	}
}

func TestWhatARunShowedOfTheSupplyIsNoted(t *testing.T) {
	state, pins := t.TempDir(), supervisor.Pins{Stop: 17, Relay: 22, Heartbeat: 27, Supply: 16}
	require.NoError(t, supervisor.NoteTested(state, pins, interlock.Parts{Stop: true, Relay: true, Heartbeat: true}))
	assert.Empty(t, NoteEnding(supervisor.Ending{Fell: 2 * signal.Second}, pins, state))
	assert.Empty(t, NoteEnding(supervisor.Ending{Fell: signal.Second}, pins, state))
	fell, err := supervisor.Fell(state)
	require.NoError(t, err)
	assert.Equal(t, 2*signal.Second, fell, "the longest")
	assert.Contains(t, NoteEnding(supervisor.Ending{Fell: 16 * signal.Second}, pins, state)[0], "took 16 s to go")
	assert.Contains(t, NoteEnding(supervisor.Ending{Unjudged: true}, pins, state)[0], "pull the plug")

	tested, err := supervisor.Tested(state, pins)
	require.NoError(t, err)
	assert.True(t, tested.All())
	moved := pins
	moved.Supply = 18
	tested, err = supervisor.Tested(state, moved)
	require.NoError(t, err)
	assert.False(t, tested.Relay, "the relay was tried together with another sense")
	assert.Contains(t, NoteEnding(supervisor.Ending{Welded: true}, pins, state)[0], "be ready anew")
	tested, err = supervisor.Tested(state, pins)
	require.NoError(t, err)
	assert.Equal(t, interlock.Parts{}, tested)
	fell, err = supervisor.Fell(state)
	require.NoError(t, err)
	assert.Zero(t, fell, "what was learnt is learnt anew")
}
