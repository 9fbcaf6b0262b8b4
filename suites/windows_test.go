package suites_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"

	"hilrig/rig/benchtest/drawn"
	"hilrig/rig/board"
	"hilrig/rig/signal"
	"hilrig/suites"
	"hilrig/suites/record"
)

// A board that counts the wheels' marks over several turns reads the speed more seldom than its loop turns. The loop
// rate is that of its turns all the same, which its answers to the yaw rate show: one that keeps the policy is not
// called too slow, and one that is too slow is.
func TestLoopRateOfABoardThatCountsOverWindows(t *testing.T) {
	for i, row := range []struct {
		loop     signal.Time
		deadBand float64 // rad/s: one way leaves it at once, the other after some turns of the filter
		want     string
		only     string
		cases    int
	}{
		{4 * signal.Millisecond, 0, record.Pass, "loop rate", 3},
		{8 * signal.Millisecond, 0, record.Fail, "loop rate (turn left)", 1},
		{4 * signal.Millisecond, 0.1, record.Pass, "loop rate", 3},
	} {
		if !drawn.Row(i, 3) {
			continue
		}
		s := load(t, bramble("built-in", "timing", "grid"))
		settings := board.Bramble()
		settings.LoopPeriod, settings.Timing.CountWindow = row.loop, 19*signal.Millisecond
		if row.deadBand > 0 {
			settings.DeadBand, settings.Shaping.YawLag = row.deadBand, 12*signal.Millisecond
		}
		s.WithBoard("windows", settings)
		result, _ := play(t, s, suites.Options{Only: row.only})
		seen := 0
		for _, suite := range result.Suites {
			for _, c := range suite.Cases {
				for _, check := range c.Checks {
					if check.Name != "loop rate" || check.Verdict == record.NotAsked {
						continue
					}
					seen++
					assert.Equal(t, row.want, check.Verdict, "%v: %s", row.loop, check.Why)
					assert.True(t, strings.HasPrefix(check.Quantity, "loop rate, by answers of "), check.Quantity)
				}
			}
		}
		assert.Equal(t, row.cases, seen)
	}
}

// A loop whose turns come unevenly leaves the answers without a grid, and a low-pass spreads them further. Then it is not
// told how often it turns, but a speed that is read more seldom does not make it too slow.
func TestUnevenTurnsOfABoardThatCountsOverWindowsAreNotCalledSlow(t *testing.T) {
	s := load(t, bramble("built-in", "timing"))
	settings := board.Bramble()
	settings.Timing.CountWindow, settings.Timing.LoopJitter = 7*signal.Millisecond, 0.2
	settings.DeadBand, settings.Shaping.YawLag = 0.1, 12*signal.Millisecond
	s.WithBoard("uneven", settings)
	result, _ := play(t, s, suites.Options{Only: "loop rate"})
	seen := 0
	for _, suite := range result.Suites {
		for _, c := range suite.Cases {
			for _, check := range c.Checks {
				if check.Name == "loop rate" && check.Verdict != record.NotAsked {
					seen++
					assert.Equal(t, record.Undecided, check.Verdict, check.Quantity)
				}
			}
		}
	}
	assert.Equal(t, 2, seen)
}
