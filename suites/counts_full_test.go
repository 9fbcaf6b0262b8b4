//go:build full

package suites_test

// healthyBoards is how many healthy boards are drawn; orders in how many orders cases are
// played; stalled with how many seeds stalls are drawn; leftOutKeys
// how many keys a policy leaves out one at a time, 0 for all; leftOutPairs how many pairs of them.
const (
	brokenLaws    = 200
	brokenMissed  = 0
	wordsApart    = 1
	drawnWires    = 60
	drawnLaws     = 200
	keysPlanned   = 200
	healthyBoards = 25
	orders        = 5
	stalled       = 3
	leftOutKeys   = 0
	leftOutPairs  = 15
)

// nullSuites are what boards are held to that control nothing, ownedSuites what the cars of
// other owners are, foldedSuites those that are folded, untimed what is played where the timing says
// little; nil: all.
var nullSuites, ownedSuites, foldedSuites, shuffledSuites, untimed []string

// policySuites are what the board of the owner's own files is held to, policyCases which of their cases on other
// wires than the owners', crossedCases what a car is held to with the board of another; "": all.
var policySuites = []string(nil)

const policyCases, crossedCases = "", ""

// demoSuites are those of the demo that are played for all tests which hold something against them, wordSuites what
// the boards of other words are held to; nil: all.
var demoSuites, wordSuites []string

// fades are how many policies of shifts that fade in are played.
const fades = 3

// curveBends are how much boards bend the throttle whose curve is measured first.
var curveBends = []float64{0, 0.3, 0.8}
