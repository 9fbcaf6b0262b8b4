package board

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"hilrig/rig/signal"
)

// A wheel that turns back just past an edge crosses it again at once. The time between is none in which the wheel
// went on by a whole count, and no speed can be told by it.
func TestAWheelThatTurnsBackTellsNoSpeedByTheEdgeThatItCrossesAgain(t *testing.T) {
	const ms, count = signal.Millisecond, 0.01 // rad
	var e encoder
	edges := []struct {
		at    signal.Time
		bit   uint8
		level bool
		speed float64 // rad/s
	}{
		{10 * ms, bitA, true, 1}, {20 * ms, bitB, true, 1}, {30 * ms, bitA, false, 1},
		{30*ms + 50*signal.Microsecond, bitA, true, 0}, // back over the same edge
		{40*ms + 50*signal.Microsecond, bitB, false, -1}, {50*ms + 50*signal.Microsecond, bitA, false, -1},
	}
	for _, x := range edges {
		e.edge(x.bit, x.level, x.at)
		assert.InDelta(t, x.speed, e.read(x.at, count), 1e-9, "at %v", x.at)
	}
}
