//go:build full

package assertions_test

import "hilrig/rig/signal"

// knownLoops are the boards whose loop is known; nil: all. unresolvedLoops are periods that cannot be
// told from the steps of the speed, in us; sensorBoards is how many boards hang together with the sensor.
var knownLoops []string

var unresolvedLoops = []signal.Time{100, 300, 720, 1000}

const sensorBoards = 200
