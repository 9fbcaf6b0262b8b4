package board

import (
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"hilrig/rig/signal"
)

// TestClockThereAndBack: bench gives the first time at which the board's clock
// has come to l, up to ten days.
func TestClockThereAndBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := clock{ppm: rapid.Int64Range(-10000, 10000).Draw(t, "ppm")}
		l := signal.Time(rapid.Int64Range(1, 10*24*3600*int64(signal.Second)).Draw(t, "l"))
		b := c.bench(l)
		require.GreaterOrEqual(t, c.local(b), l)
		require.Less(t, c.local(b-1), l)
	})
}
