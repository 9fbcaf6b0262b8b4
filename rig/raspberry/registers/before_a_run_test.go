package registers_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig/decode"
	"hilrig/rig/raspberry/preflight"
	"hilrig/rig/raspberry/realtime"
	"hilrig/rig/raspberry/registers"
)

// The real thing, however well this machine does: it is measured, and no line moves.
func TestTryTimeChangesNoLine(t *testing.T) {
	registers.InRealTime(t)
	m := &registers.Memory{}
	m.Set(0x5a)
	found, err := preflight.TryTimeOnPinBank(t.Context(), m, realtime.Scheduling{}, decode.Motor{}, 10e3)
	require.NoError(t, err)
	assert.EqualValues(t, 0x5a, m.Level())
	require.Len(t, found, 2)
	assert.Equal(t, "capture servo_pulse", found[0].Check)
	assert.Contains(t, found[0].Says, "of its range")
	assert.Contains(t, found[1].Says, "of the 10000 that the suites need")
}
