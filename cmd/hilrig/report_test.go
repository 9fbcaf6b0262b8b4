package main

import (
	"io"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/suites/record"
)

// The record of a run on pins is told so, before its board is looked for among those that
// the program makes, and no file is left behind.
func TestReportSaysThatARunInRealTimeKeptNoEdges(t *testing.T) {
	plan := sampleResult()
	plan.Format, plan.Real, plan.Board.Name = record.Format, "Pi 4B, registers", "on its wires"
	w, err := record.Create(t.TempDir(), plan, record.Host{}, time.Unix(0, 0))
	require.NoError(t, err)
	require.NoError(t, w.Finish(plan, 1, 1))
	vcd := filepath.Join(t.TempDir(), "wires.vcd")
	c := newReport()
	c.SetArgs([]string{w.Folder(), "--vcd", vcd})
	c.SilenceErrors, c.SilenceUsage = true, true
	c.SetOut(io.Discard)
	err = c.ExecuteContext(t.Context())
	assert.ErrorContains(t, err, "would not be what its wires showed")
	assert.NoFileExists(t, vcd)
}
