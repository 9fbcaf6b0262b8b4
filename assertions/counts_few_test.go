//go:build !full

package assertions_test

import (
	"hash/fnv"
	"os"

	"hilrig/rig/signal"
)

// knownLoops are boards whose loop is known, of ten with the tag full: one for each verdict, and one
// whose outputs hardly move against the loop.
var knownLoops = []string{"demo", "half the demo's rate", "near the limit", "as slow as its outputs are"}

// unresolvedLoops are periods that cannot be told from the steps of the speed, in us: the fastest and the slowest of four.
var unresolvedLoops = []signal.Time{100, 1000}

// sensorBoards is how many boards hang together with the sensor, of 200 for each loop.
const sensorBoards = 60

// drawn says whether the i-th of so many rows is tried that take long: one, others for each value of HILRIG_DRAW,
// which .ci/run gives the commit; with "all", as with the tag full, each is.
func drawn(i, of int) bool {
	draw := os.Getenv("HILRIG_DRAW")
	h := fnv.New32a()
	h.Write([]byte(draw))
	return draw == "all" || (uint32(i)+h.Sum32())%uint32(of) == 0
}
