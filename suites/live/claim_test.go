package live

import (
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig/raspberry/supervisor"
)

// A supervisor that is killed leaves its worker alone with the lines for a moment.
func TestTheWorkerHoldsTheClaimToo(t *testing.T) {
	place := Place{PinBank: filepath.Join(t.TempDir(), "bank")}
	lines, err := place.Claim(false)
	require.NoError(t, err)
	defer Release(lines)
	var s supervisor.Settings
	end, err := HandDown(&s, NewInputs(nil), lines)
	require.NoError(t, err)
	defer end()
	assert.Contains(t, s.Extra, lines.File())
	assert.LessOrEqual(t, len(s.Extra), supervisor.MostExtra)
	_, err = place.Claim(false)
	require.ErrorAs(t, err, new(Unavailable), "a second program is right and has to wait")
	none, err := place.Claim(true)
	require.NoError(t, err, "the worker does not ask")
	assert.Nil(t, none)
}
