package main

import (
	"bytes"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig/signal"
	"hilrig/suites/record"
	"hilrig/suites/report"
)

// The record of a run on pins is not played again: what it kept of the wires is written,
// and where it kept nothing that is said and no file is left behind.
func TestReportWritesWhatARunInRealTimeRecorded(t *testing.T) {
	plan := sampleResult()
	plan.Format, plan.Real, plan.Board.Name = record.Format, "Pi 4B, registers", "on its wires"
	k, err := recordIn(t.TempDir(), plan, nil)
	require.NoError(t, err)
	write := func() (string, error) {
		vcd := filepath.Join(t.TempDir(), "wires.vcd")
		c := newReport()
		c.SetArgs([]string{k.Folder(), "--vcd", vcd})
		c.SilenceErrors, c.SilenceUsage = true, true
		c.SetOut(io.Discard)
		c.SetErr(io.Discard)
		return vcd, c.ExecuteContext(t.Context())
	}
	suite, index := 0, 1
	plan.Suites[suite].Cases[index].Trace = "ab12"
	require.NoError(t, k.Case(suite, index, plan.Suites[suite].Cases[index]))
	vcd, err := write()
	assert.ErrorContains(t, err, "nothing is kept of the wires")
	assert.ErrorContains(t, err, "(Pi 4B, registers, board on its wires)")
	assert.NoFileExists(t, vcd)

	w := report.Watch(signal.Layout{Lines: []signal.LineSpec{{Name: "steer", Role: signal.SteerPulse}, {Name: "kept"}}})
	w.To = signal.Millisecond
	w.Add([]signal.Edge{{At: 500 * signal.Microsecond, Level: true}}, nil)
	wiresInto(k, plan)(suite, index, w)
	assert.Equal(t, 1, k.Dumps())
	vcd, err = write()
	require.Equal(t, ended{exitNotShown}, err, "the run did not end")
	var want bytes.Buffer
	fmt.Fprintln(&want, "$comment THIS RECORD IS NOT WHOLE: the run did not end $end")
	require.NoError(t, w.VCD(&want, plan.Suites[suite].Name+": "+plan.Suites[suite].Cases[index].Title()+"; "+aboutRecorded))
	got, err := os.ReadFile(vcd)
	require.NoError(t, err)
	assert.Equal(t, want.String(), string(got))
}

// A case in which a run broke off has no verdict; its wires are found all the same.
func TestReportFindsTheCaseInWhichARunBrokeOff(t *testing.T) {
	plan := sampleResult()
	plan.Format = record.Format
	for i := range plan.Suites {
		for j := range plan.Suites[i].Cases {
			plan.Suites[i].Cases[j].Trace = ""
		}
	}
	k, err := recordIn(t.TempDir(), plan, nil)
	require.NoError(t, err)
	r := &record.Record{Folder: k.Folder(), Result: plan}
	_, _, err = r.Find("")
	assert.ErrorContains(t, err, "no played case")
	wiresInto(k, plan)(0, 1, report.Watch(signal.Layout{}))
	suite, index, err := r.Find("")
	require.NoError(t, err)
	assert.Equal(t, [2]int{0, 1}, [2]int{suite, index})
}
