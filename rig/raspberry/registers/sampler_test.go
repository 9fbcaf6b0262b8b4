package registers

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"hilrig/rig/raspberry/realtime"
	"hilrig/rig/signal"
)

// The bank shows its level at some moment of a turn of the loop, nobody knows which: an edge
// lies within two turns, from the end of the read before the one that did not show it yet.
func TestAnEdgeLiesWithinTwoTurns(t *testing.T) {
	const bit = 1 << 5
	steps := func(level ...uint32) []signal.Edge {
		s := sampler{mask: bit, leastLimit: signal.Second, captured: realtime.NewRing[signal.Edge](4)}
		for i, l := range level {
			s.step(l, signal.Time(100*(i+1)))
		}
		return appendUntil(s.captured, nil, signal.Second)
	}
	assert.Equal(t, []signal.Edge{{At: 400, Uncertainty: 200, Level: true}, {At: 500, Uncertainty: 200}}, steps(0, 0, 0, bit, 0))

	rapid.Check(t, func(t *rapid.T) {
		s := sampler{mask: bit, leastLimit: signal.Second, captured: realtime.NewRing[signal.Edge](10)}
		truth := signal.Time(rapid.Int64Range(300, 5000).Draw(t, "truth"))
		for end := signal.Time(0); end < 6000; {
			turn := signal.Time(rapid.Int64Range(1, 400).Draw(t, "turn"))
			shown := end + signal.Time(rapid.Int64Range(0, int64(turn)).Draw(t, "shown"))
			end += turn
			level := uint32(0)
			if shown >= truth {
				level = bit
			}
			s.step(level, end)
		}
		got := appendUntil(s.captured, nil, signal.Second)
		require.Len(t, got, 1)
		assert.LessOrEqual(t, truth, got[0].At)
		assert.Greater(t, truth, got[0].At-signal.Time(got[0].Uncertainty))
	})
}
