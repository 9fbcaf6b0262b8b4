//go:build full

package decode_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

// Ten million frames, and a million with a flipped bit; both tables are printed.
func TestFramesByTurnOfTheLoopFull(t *testing.T) {
	x := framesRead(t, 10_000_000/(12*len(turnsOf))+1)
	assert.GreaterOrEqual(t, x.sum.sent, 10_000_000)
}

func TestFlippedFramesByTurnOfTheLoopFull(t *testing.T) {
	x := framesFlipped(t, 1_000_000/(12*len(turnsOf))+1)
	assert.GreaterOrEqual(t, x.sum.sent, 1_000_000)
}
