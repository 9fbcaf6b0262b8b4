//go:build !full

package suites_test

import (
	"slices"

	"hilrig/suites/standard"
)

// healthyBoards is how many healthy boards are drawn, of 25 with the tag full; orders in how
// many orders cases are played, of 5; stalled with how many seeds stalls are drawn, of 3;
// leftOutKeys how many keys a policy leaves out one at a time, of all; leftOutPairs how many
// pairs of them, of 15.
const (
	brokenLaws    = 1
	wordsApart    = 100
	drawnWires    = 3
	drawnLaws     = 1
	keysPlanned   = 20
	healthyBoards = 2
	orders        = 1
	stalled       = 1
	leftOutKeys   = 1
	leftOutPairs  = 0
)

// nullSuites are what boards are held to that control nothing, ownedSuites what the cars of
// other owners are, the first of them to the timing too; foldedSuites are those that are folded;
// untimed are for boards and policies of which the timing says little: it takes more than all
// others together. nil, as with the tag full: all.
var (
	nullSuites   = []string{"split", "demand", "limits", "losses"}
	ownedSuites  = []string{"split", "demand", "limits", "losses"}
	foldedSuites = []string{"demand", "losses", "timing"}
	untimed      = slices.DeleteFunc(standard.Names(), func(name string) bool { return name == "timing" })
)

// policySuites are what the board of the owner's own files is held to.
var policySuites = []string{"split"}
