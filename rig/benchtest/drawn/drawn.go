// Package drawn has tests of many rows that take long try a few of them: others for each commit, so that over
// commits all are tried. Only tests import it.
package drawn

import (
	"hash/fnv"
	"os"
)

// Row says whether the i-th row of a table is tried, i at least 0: one of so many, at least 1, others for each
// value of HILRIG_DRAW, which .ci/run gives the commit. With "all" there, as with the build tag full, each is.
func Row(i, of int) bool {
	draw := os.Getenv("HILRIG_DRAW")
	h := fnv.New32a()
	h.Write([]byte(draw))
	return whole || draw == "all" || (uint32(i)+h.Sum32())%uint32(of) == 0
}
