//go:build linux

package chardev

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/sys/unix"

	"hilrig/rig/raspberry/cdev"
	"hilrig/rig/raspberry/hostlines"
)

// inUse is a chip of which another program may hold lines.
type inUse struct {
	open func(hostlines.Settings) (*Bench, error)
	hold func(line uint32) (giveBack func()) // by another program
}

// deniesLinesInUse holds that a line that another program has is an error, whatever it is
// for, and that the others are free again afterwards.
func deniesLinesInUse(t *testing.T, on func(t *testing.T) inUse) {
	for _, row := range []struct {
		name string
		line uint32
	}{{"driven", 17}, {"captured", 22}, {"reset", 24}} {
		t.Run(row.name, func(t *testing.T) {
			chip := on(t)
			s := settings()
			s.Reset = 24
			giveBack := chip.hold(row.line)
			b, err := chip.open(s)
			require.ErrorIs(t, err, unix.EBUSY)
			assert.Nil(t, b)
			giveBack()
			b, err = chip.open(s)
			require.NoError(t, err, "the other lines were given back")
			require.NoError(t, b.Close())
		})
	}
}

func TestLinesInUseAreDenied(t *testing.T) {
	deniesLinesInUse(t, func(t *testing.T) inUse {
		chip := newFakeChip()
		return inUse{
			open: func(s hostlines.Settings) (*Bench, error) {
				require.NoError(t, s.Check())
				closed := chip.closed
				b, err := newBench(&s, chip)
				if err != nil {
					assert.Equal(t, closed+1, chip.closed)
					assert.Len(t, chip.user, 1, "what was in use stays so, alone")
				}
				return b, err
			},
			hold: func(line uint32) func() {
				chip.user[line] = "another"
				return func() { delete(chip.user, line) }
			},
		}
	})
}

// What the kernel's chip refuses is nothing, as whoever asked compares it with nil.
func TestWhatAChipRefusesIsNil(t *testing.T) {
	chip := charChip{&cdev.Chip{}}
	out, err := chip.Outputs(nil, 0)
	require.ErrorIs(t, err, unix.EINVAL)
	assert.True(t, out == nil)
	in, err := chip.Inputs(nil, 0)
	require.ErrorIs(t, err, unix.EINVAL)
	assert.True(t, in == nil)
}
