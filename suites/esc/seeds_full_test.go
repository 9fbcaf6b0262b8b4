//go:build full

package esc_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

// fallSeeds is how many seeds a supply that falls is played with.
const fallSeeds = 3

func TestTheEvenControllerIsGo(t *testing.T) { goes(t, 100) }

func TestTruthLiesInItsInterval(t *testing.T) {
	held, widest := within(t, 200, false)
	t.Logf("the truth lies in %d of 200 intervals, the widest %.4f", held, widest)
	assert.GreaterOrEqual(t, held, 184)
}
