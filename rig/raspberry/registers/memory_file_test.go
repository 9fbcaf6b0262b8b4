//go:build unix

package registers

import (
	"encoding/binary"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig/board"
	"hilrig/rig/raspberry/hostlines"
	"hilrig/rig/signal"
)

func TestMemoryFileIsSharedByAllWhoOpenIt(t *testing.T) {
	path := filepath.Join(t.TempDir(), "bank")
	one, err := OpenMemoryFile(path)
	require.NoError(t, err)
	two, err := OpenMemoryFile(path)
	require.NoError(t, err)
	assert.True(t, one.Fresh())
	assert.False(t, two.Fresh())
	one.Set(1<<31 | 1<<7)
	two.Clear(1 << 7)
	require.NoError(t, two.Output(3, true))
	require.NoError(t, one.Input(3, hostlines.PullDown), "it is left as it is")
	level, err := one.Read(3)
	require.NoError(t, err)
	assert.True(t, level)
	require.NoError(t, two.Close())
	require.NoError(t, one.Write(31, false))
	assert.Equal(t, uint32(1<<3), two.Level())
	data, err := os.ReadFile(path)
	require.NoError(t, err)
	assert.Equal(t, binary.NativeEndian.AppendUint32(nil, 1<<3), data)
}

func TestMemoryFileRefusesWhatIsNone(t *testing.T) {
	folder := t.TempDir()
	path := filepath.Join(folder, "notes.txt")
	require.NoError(t, os.WriteFile(path, []byte("not a bank"), 0o600))
	_, err := OpenMemoryFile(path)
	require.ErrorContains(t, err, "has 10 bytes and a bank has 4; name a new file")
	_, err = OpenMemoryFile(folder)
	require.ErrorContains(t, err, "bank in a file: ")
	_, err = OpenMemoryFile(filepath.Join(folder, "no", "bank"))
	require.ErrorContains(t, err, "no such file")
	require.ErrorContains(t, MakePinBank(path), "has 10 bytes and a bank has 4; name a new file")
	require.NoError(t, MakePinBank(filepath.Join(folder, "bank")))
	m, err := OpenMemoryFile(filepath.Join(folder, "bank"))
	require.NoError(t, err)
	assert.True(t, m.Fresh(), "until it is opened")
	for _, gpio := range []int{-1, 32} {
		require.ErrorContains(t, m.Output(gpio, true), "a bank has GPIO0 to GPIO31")
		require.Error(t, m.Input(gpio, hostlines.PullNone))
		_, err := m.Read(gpio)
		require.Error(t, err)
	}
	assert.Zero(t, m.Level())
}

func TestABankWithABoardShowsItsLevelsInAFile(t *testing.T) {
	layout := signal.Layout{Lines: []signal.LineSpec{
		{Name: "up", Direction: signal.Drive, Idle: true}, {Name: "down", Direction: signal.Drive}, {Name: "answer", Direction: signal.Capture},
	}}
	m, err := NewSimulatedPinBank(&echo{}, layout, hostlines.Pins{9, 10, 11})
	require.NoError(t, err)
	m.clock = newClock()
	f, err := OpenMemoryFile(filepath.Join(t.TempDir(), "bank"))
	require.NoError(t, err)
	f.Set(1<<11 | 1<<20)
	m.Share(f)
	assert.Equal(t, uint32(1<<9|1<<20), f.Level(), "its own lines as they are, others left alone")
	m.Set(1 << 10)
	m.Clear(1 << 9)
	assert.Equal(t, uint32(1<<10|1<<20), f.Level())
	m.Level()
	assert.Equal(t, uint32(1<<10|1<<11|1<<20), f.Level(), "the board answered")
	m.Clear(1 << 10)
	m.Level()
	assert.Equal(t, uint32(1<<20), f.Level())
}

// echo is a board whose line 2 follows line 1.
type echo struct{ board.Board }

func (*echo) Name() string { return "echo" }

func (*echo) Run(in []signal.Edge, until signal.Time, out []signal.Edge) ([]signal.Edge, error) {
	for _, e := range in {
		if e.Line == 1 {
			out = append(out, signal.Edge{At: until, Line: 2, Level: e.Level})
		}
	}
	return out, nil
}
