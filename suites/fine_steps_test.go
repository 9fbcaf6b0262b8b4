package suites_test

import (
	"bytes"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/suites"
	"hilrig/suites/demo"
	"hilrig/suites/record"
)

// A receiver's bus carries the throttle in steps of 1 in 819, and the motors' frames commands in steps of 1 in 999: a fine
// board behind a filter goes by one or two of these for each of the former, within the time over which the filter spreads it. One
// whose own steps are of 1 % is coarse all the same.
func TestFineCommandsBehindAFilterAndAReceiverOfCoarseSteps(t *testing.T) {
	f := bramble("from-policy", "limits")
	f.Car.Data = edited(t, f.Car.Data, "response: {at_most: 12 ms", "smoothing: {filter: 8 ms}\n  response: {at_most: 40 ms", "resolution: 0.5 %", "resolution: 0.15 %")
	f.Bench.Data = edited(t, demo.Of("built-in/moment").Bench, "channel: 1, idle: 192, full: 1792", "channel: 1, idle: 992, full: 1811")
	s := load(t, f)
	r, _ := play(t, s, suites.Options{Only: "fine steps"})
	assert.Zero(t, r.Counts.Fail+r.Counts.Undecided, troubles(r))
	checks := r.Suites[0].Cases[len(r.Suites[0].Cases)-1].Checks
	require.Contains(t, checks[0].Name, "resolution")
	assert.Equal(t, record.Pass, checks[0].Verdict)

	settings, err := s.OfPolicy()
	require.NoError(t, err)
	settings.Step = 0.01
	s.WithBoard("coarse", settings)
	r, _ = play(t, s, suites.Options{Only: "fine steps"})
	assert.NotZero(t, r.Counts.Fail)
}

// edited returns data with each of several texts, which have to be there, exchanged for the one behind it.
func edited(t *testing.T, data []byte, edits ...string) []byte {
	t.Helper()
	for i := 0; i < len(edits); i += 2 {
		require.Contains(t, string(data), edits[i])
		data = bytes.Replace(data, []byte(edits[i]), []byte(edits[i+1]), 1)
	}
	return data
}
