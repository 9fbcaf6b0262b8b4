package main

import (
	"bytes"
	"strings"
	"testing"

	"github.com/spf13/cobra"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/suites/demo"
	"hilrig/suites/live"
)

// Whatever plays under a supervisor takes no file from the disk: what the supervisor did not read
// was not confirmed.
func TestAWorkerReadsNoFileOfItsOwn(t *testing.T) {
	handed, err := live.ReadInputs(strings.NewReader("{}"))
	require.NoError(t, err)
	ctx := withInputs(t.Context(), handed)
	const bench, says = "testdata/kill/bench.yaml", "was not read before the bench went live, and is not read now; start again"
	for _, args := range [][]string{
		{"run", "split", "--bench", bench},
		{"run", "testdata/kill/suite.yaml"},
		{"play", "steer=8deg", "--bench", bench},
		{"play", "steer=8deg", "--car", bench},
		{"rate", "--bench", bench},
	} {
		var out, errs bytes.Buffer
		assert.Equal(t, exitWrong, run(ctx, args, &out, &errs), "%v", args)
		assert.Contains(t, errs.String(), says, "%v", args)
		assert.Empty(t, out.String(), "%v", args)
	}
	c := &cobra.Command{}
	c.SetContext(ctx)
	f := readyFlags{inputFlags: inputFlags{bench: bench}}
	require.ErrorContains(t, f.play(c, nil, []string{"split"}, false, live.Place{}), says)
}

// A log that a suite replays is among what is handed down.
func TestTheWorkerGetsTheLogsThatAreReplayed(t *testing.T) {
	inputs := live.NewInputs(func(path string, _ int64) ([]byte, error) { return []byte(path), nil })
	_, err := demo.LogReader(inputs.ReadLog, true)(demo.LogPath)
	require.NoError(t, err)
	var pipe bytes.Buffer
	require.NoError(t, inputs.Give(&pipe))
	handed, err := live.ReadInputs(&pipe)
	require.NoError(t, err)
	data, err := demo.LogReader(handed.ReadLog, true)(demo.LogPath)
	require.NoError(t, err)
	assert.Equal(t, demo.LogPath, string(data))
}
