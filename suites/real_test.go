package suites_test

import (
	"os"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig"
	"hilrig/rig/board"
	"hilrig/rig/signal"
	"hilrig/suites"
	"hilrig/suites/record"
)

// A bench that cannot restart its board leaves out what needs that, and says so.
func TestABenchThatCannotRestartSaysWhatItLeavesOut(t *testing.T) {
	s := load(t, bramble("", "losses"))
	require.NoError(t, s.On(&suites.Real{Kind: "pins", Open: func(signal.Layout, board.Board) (rig.Bench, error) { return nil, os.ErrNotExist }}))
	_, _, err := s.Run(t.Context(), suites.Options{Fresh: true})
	assert.ErrorIs(t, err, rig.ErrNotPossible)
	r, _, err := s.Run(t.Context(), suites.Options{})
	assert.ErrorIs(t, err, os.ErrNotExist)
	assert.Equal(t, "pins", r.Real)
	assert.Equal(t, suites.RealBoard, r.Board.Name)
	i := slices.IndexFunc(r.Suites[0].Cases, func(c record.Case) bool { return c.Verdict == record.Skipped })
	require.GreaterOrEqual(t, i, 0)
	assert.Contains(t, r.Suites[0].Cases[i].Why, "begins with a power-up, and the bench cannot restart its board")
	named := load(t, bramble("built-in:yaw_sign", "split"))
	assert.ErrorContains(t, named.On(&suites.Real{Kind: "pins"}), "has one on its wires")
}
