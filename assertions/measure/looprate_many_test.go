//go:build !full

package measure_test

import (
	"hash/fnv"
	"os"
	"testing"
)

// sample chooses the size of a sample: the full one with the tag full, else the smaller.
func sample(_, smaller int) int { return smaller }

// Four of the four hundred of the tag full. Of a share of 0.05 that may miss, as is promised, more than one of
// four do in 1.4 of 100 samples.
func TestUpdatePeriodOfBoardsAtRandom(t *testing.T) { many(t, 4, 1) }

// drawnRows says whether the i-th of so many rows is tried that take long: one, others for each value of HILRIG_DRAW,
// which .ci/run gives the commit; with "all", as with the tag full, each is.
func drawnRows(i, of int) bool {
	draw := os.Getenv("HILRIG_DRAW")
	h := fnv.New32a()
	h.Write([]byte(draw))
	return draw == "all" || (uint32(i)+h.Sum32())%uint32(of) == 0
}
