package registers

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"hilrig/rig/raspberry/realtime"
	"hilrig/rig/signal"
)

// The bank shows its level at some moment of its read, nobody knows which: an edge lies between
// the start of the last read that did not show it and the end of the first that did, which is a turn and a read.
func TestAnEdgeLiesWithinATurnAndARead(t *testing.T) {
	const bit = 1 << 5
	steps := func(level ...uint32) []signal.Edge {
		s := sampler{mask: bit, leastLimit: signal.Second, captured: realtime.NewRing[signal.Edge](4)}
		for i, l := range level {
			end := signal.Time(100 * (i + 1))
			s.step(l, end-30, end)
		}
		return appendUntil(s.captured, nil, signal.Second)
	}
	assert.Equal(t, []signal.Edge{{At: 400, Uncertainty: 130, Level: true}, {At: 500, Uncertainty: 130}}, steps(0, 0, 0, bit, 0))

	rapid.Check(t, func(t *rapid.T) {
		s := sampler{mask: bit, leastLimit: signal.Second, captured: realtime.NewRing[signal.Edge](10)}
		truth := signal.Time(rapid.Int64Range(300, 5000).Draw(t, "truth"))
		var turn, read, before signal.Time // before: the read before the last
		for end := signal.Time(0); end < 6000; {
			before = read
			read = signal.Time(rapid.Int64Range(1, 200).Draw(t, "read"))
			turn = read + signal.Time(rapid.Int64Range(1, 200).Draw(t, "rest"))
			end += turn
			shown := end - signal.Time(rapid.Int64Range(0, int64(read)).Draw(t, "shown"))
			level := uint32(0)
			if shown >= truth {
				level = bit
			}
			s.step(level, end-read, end)
			if got := appendUntil(s.captured, nil, signal.Second); level != 0 {
				if len(got) != 1 {
					t.Fatalf("%v", got)
				}
				assert.LessOrEqual(t, truth, got[0].At)
				assert.Greater(t, truth, got[0].At-signal.Time(got[0].Uncertainty))
				assert.EqualValues(t, turn+before, got[0].Uncertainty)
				return
			}
		}
	})
}

// A count of the clock lasts 52 ns on a Pi 3, at 19.2 MHz, and 19 ns on a Pi 4, at 54 MHz
// (from memory): whatever part of it is over, what the clock has reached is past.
func TestWhatTheClockHasReachedIsPast(t *testing.T) {
	for rate, grain := range map[uint64]signal.Time{19_200_000: 53, 54_000_000: 19, 1_000_000_000: 1, 2_500_000_000: 1} {
		c := clock{scale: (1_000_000_000<<32 + rate/2) / rate}
		c.grain = grainOf(c.scale)
		assert.Equal(t, grain, c.grain)
		for n := range uint64(1000) {
			begins, ends := float64(n)*1e9/float64(rate), float64(n+1)*1e9/float64(rate)
			require.LessOrEqual(t, float64(c.after(n)), begins)
			require.GreaterOrEqual(t, float64(c.after(n)+c.grain), ends-1, "less than a nanosecond is nothing")
		}
	}
}
