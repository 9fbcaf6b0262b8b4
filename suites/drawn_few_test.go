//go:build !full

package suites

import (
	"hash/fnv"
	"os"
)

// Drawn says whether the i-th row of a table is played that takes long: one of so many, others for each
// value of HILRIG_DRAW, which .ci/run gives the commit, so that over commits all are. With "all", as with
// the tag full, each is.
func Drawn(i, of int) bool {
	draw := os.Getenv("HILRIG_DRAW")
	h := fnv.New32a()
	h.Write([]byte(draw))
	return draw == "all" || (uint32(i)+h.Sum32())%uint32(of) == 0
}
