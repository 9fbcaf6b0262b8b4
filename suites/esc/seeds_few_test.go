//go:build !full

package esc_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

// few is 3 seeds, and one under the race detector.
func few() uint64 {
	if testing.Short() {
		return 1
	}
	return 3
}

// fallSeeds is how many seeds a supply that falls is played with, of 3 with the tag full.
const fallSeeds = 1

func TestTheEvenControllerIsGo(t *testing.T) { goes(t, few()) } // 100 with the tag full

func TestTruthLiesInItsInterval(t *testing.T) { // 200 with the tag full
	for _, constant := range []bool{false, true} {
		held, _ := within(t, few(), constant)
		assert.GreaterOrEqual(t, held, int(few())-1)
	}
}
