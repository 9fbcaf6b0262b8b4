//go:build !full

package suites_test

// healthyBoards is how many healthy boards are drawn, of 25 with the tag full; orders in how
// many orders cases are played, of 5; brokenMissed how many broken laws more than the share may be missed where few are drawn; stalled with how many seeds stalls are drawn, of 3;
// leftOutKeys how many keys a policy leaves out one at a time, of all; leftOutPairs how many
// pairs of them, of 15; no drawn law is played but by the step long of CI, and 200 with the tag full.
const (
	brokenLaws    = 8
	brokenMissed  = 1
	wordsApart    = 100
	drawnWires    = 1
	drawnLaws     = 0
	keysPlanned   = 10
	healthyBoards = 1
	orders        = 1
	stalled       = 1
	leftOutKeys   = 1
	leftOutPairs  = 0
)

// nullSuites are what boards are held to that control nothing, ownedSuites what the cars of
// other owners are; foldedSuites are those that are folded, shuffledSuites those whose cases change their
// order; untimed are for boards and policies of which the timing says little: it takes more than all
// others together. nil, as with the tag full: all.
var (
	nullSuites     = []string{"split"}
	ownedSuites    = []string{"losses"}
	foldedSuites   = []string{"demand", "replay"}
	shuffledSuites = []string{"losses"}
	untimed        = []string{"split", "losses"}
)

// policySuites are what the board of the owner's own files is held to, policyCases which of their cases on other
// wires than the owners', crossedCases what a car is held to with the board of another; "": all.
var policySuites = []string{"split"}

const policyCases, crossedCases = "understeer turns torque in", "understeer turns torque in"

// demoSuites are those of the demo that are played for all tests which hold something against them, wordSuites what
// the boards of other words are held to; nil: all. The script run_demo of the command plays the demo whole.
var demoSuites, wordSuites = []string{"losses", "timing"}, []string{"split"}

// fades are how many policies of shifts that fade in are played, of 3 with the tag full.
const fades = 1

// curveBends are how much boards bend the throttle whose curve is measured first, of three.
var curveBends = []float64{0.3}
