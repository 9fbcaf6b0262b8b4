package suites_test

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/suites"
	"hilrig/suites/language"
	"hilrig/suites/record"
)

// onWires plays a case on each bench of testdata/wires, which differ in what the
// rig plays to the board.
func onWires(t *testing.T, board string, check func(t *testing.T, r *record.Result)) {
	t.Helper()
	paths, err := filepath.Glob("testdata/wires/*.yaml")
	require.NoError(t, err)
	require.Len(t, paths, 4)
	for _, path := range paths {
		t.Run(strings.TrimSuffix(filepath.Base(path), ".yaml"), func(t *testing.T) {
			f := bramble(board, "split")
			data, err := os.ReadFile(path)
			require.NoError(t, err)
			f.Bench = language.Source{Path: path, Data: data}
			r, _ := play(t, load(t, f), suites.Options{Only: "turns torque"})
			check(t, r)
		})
	}
}

// The built-in board reads each kind of wheel sensor and the receiver's bus by code of
// its own, and finds its frames among others: it passes as it does with the demo bench.
func TestTheBoardReadsEveryWire(t *testing.T) {
	onWires(t, "", func(t *testing.T, r *record.Result) {
		assert.Empty(t, troubles(r))
		assert.NotZero(t, r.Counts.Pass)
	})
}

// A board that only passes the throttle on fails on each of them.
func TestANullBoardFailsOnEveryWire(t *testing.T) {
	onWires(t, "null:equal_torque", func(t *testing.T, r *record.Result) {
		assert.NotZero(t, r.Counts.Fail)
		assert.Equal(t, record.NoGo, r.Outcome)
	})
}
