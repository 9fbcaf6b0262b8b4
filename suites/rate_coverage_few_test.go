//go:build !full

package suites

// coverageBoards is how many boards of each class are drawn, of 200 with the tag full.
const coverageBoards = 3

// knownRates are boards of known rate, of six with the tag full.
var knownRates = []string{"333 Hz with DShot300", "100 Hz, the output as slow"}
