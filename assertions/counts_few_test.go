//go:build !full

package assertions_test

import (
	"hilrig/rig/signal"
)

// knownLoops are boards whose loop is known, of ten with the tag full: one for each verdict, and one
// whose outputs hardly move against the loop.
var knownLoops = []string{"demo", "half the demo's rate", "near the limit", "as slow as its outputs are"}

// unresolvedLoops are periods that cannot be told from the steps of the speed, in us: the fastest and the slowest of four.
var unresolvedLoops = []signal.Time{100, 1000}

// sensorBoards is how many boards hang together with the sensor, of 200 for each loop.
const sensorBoards = 60
