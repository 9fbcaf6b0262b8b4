//go:build linux && (full || realtime)

package main

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"hilrig/suites/live"
	"hilrig/suites/record"
)

const killStandPath = "testdata/kill/stand.yaml"

// A run of a speed controller ends as safely as that of a board: the rig sends its commands itself, and
// idle is a pulse train that a dead worker does not send. Where only a few moments are tried so are few
// ways: what differs from a run of a board is what is played.
func TestEveryEndOfARunOfAStandIsSafe(t *testing.T) {
	onlyInQuiet(t)
	s, err := standAt(live.NewInputs(record.ReadRegular), killStandPath)
	require.NoError(t, err)
	bench := killBenchOf(t, live.OfStand(s), "esc", killStandPath)
	ends, stops := killKinds, standstills
	if killMoments < 50 {
		ends = slices.DeleteFunc(slices.Clone(ends), func(k killKind) bool { return k.name != "SIGKILL of the worker" })
		stops = slices.DeleteFunc(slices.Clone(stops), func(k standstill) bool { return k.name != "the supervisor is stopped and continues" })
	}
	require.NotEmpty(t, ends)
	require.NotEmpty(t, stops)
	endAll(t, bench, ends)
	stopAll(t, bench, stops)
}
