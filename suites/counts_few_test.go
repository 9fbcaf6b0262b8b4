//go:build !full

package suites_test

// healthyBoards is how many healthy boards are drawn, of 25 with the tag full; orders in how
// many orders cases are played, of 5; stalled with how many seeds stalls are drawn, of 3;
// leftOutKeys how many keys a policy leaves out one at a time, of all; leftOutPairs how many
// pairs of them, of 15.
const (
	brokenLaws    = 2
	wordsApart    = 37
	drawnWires    = 3
	drawnLaws     = 2
	healthyBoards = 2
	orders        = 1
	stalled       = 1
	leftOutKeys   = 1
	leftOutPairs  = 0
)

// nullSuites are what boards are held to that control nothing, ownedSuites what the cars of
// other owners are; nil, as with the tag full: all.
var (
	nullSuites  = []string{"split", "demand", "limits", "losses"}
	ownedSuites = []string{"split", "demand", "limits", "losses", "timing"}
)

// policySuites are what the board of the owner's own files is held to.
var policySuites = []string{"split"}
