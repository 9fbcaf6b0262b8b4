//go:build !full

package measure_test

import (
	"testing"
)

// sample chooses the size of a sample: the full one with the tag full, else the smaller.
func sample(_, smaller int) int { return smaller }

// Four of the four hundred of the tag full. Of a share of 0.05 that may miss, as is promised, more than one of
// four do in 1.4 of 100 samples.
func TestUpdatePeriodOfBoardsAtRandom(t *testing.T) { many(t, 4, 1) }
