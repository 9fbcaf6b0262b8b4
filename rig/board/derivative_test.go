package board

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"hilrig/rig/signal"
)

// The error goes up by 1 rad/s in one turn of 4 ms: 250 rad/s2, of which the low-pass lets a fourth through at once.
func TestDerivativeLeadsAndDiesAway(t *testing.T) {
	s := Bramble()
	var d derivative
	assert.Zero(t, d.of(&s, 1), "no derivative is declared")
	s.DerivativeTime = 20 * signal.Millisecond
	assert.Zero(t, d.of(&s, 0), "nothing is known before the first turn")
	assert.InDelta(t, 250.0/4*0.02, d.of(&s, 1), 1e-9)
	assert.InDelta(t, 250.0/4*0.75*0.02, d.of(&s, 1), 1e-9)
}
