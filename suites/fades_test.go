package suites_test

import (
	"bytes"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/suites"
	"hilrig/suites/record"
)

// A board whose shift comes in with the speed, the steer angle or the demand is right, wherever in between the suites would
// have played by themselves.
func TestShiftsThatFadeIn(t *testing.T) {
	const still = "standstill: {no_shift_below: 0.5 m/s}"
	for _, lines := range []string{ // the first with both speed and steering
		"standstill: {no_shift_below: 1 m/s, full_from: 5 m/s}\n  straight: {full_from: 6 deg}",
		"standstill: {no_shift_below: 0.8 m/s, full_from: 2.5 m/s}",
		still + "\n  straight: {demand_below: 10 deg/s, demand_full_from: 30 deg/s}",
	}[:fades] {
		f := bramble("from-policy", "split")
		require.Contains(t, string(f.Car.Data), still)
		f.Car.Data = regexp.MustCompile(`(?m)^  straight:.*\n`).ReplaceAll(f.Car.Data, nil)
		f.Car.Data = bytes.Replace(f.Car.Data, []byte(still), []byte(lines), 1)
		r, _ := play(t, load(t, f), suites.Options{})
		assert.Equal(t, record.Go, r.Outcome, lines)
		assert.Empty(t, strings.Join(troubles(r), "\n"), lines)
		assert.Greater(t, r.Counts.Pass, 300, lines)
	}
}
