package main

import (
	"slices"

	"hilrig/suites/record"
	"hilrig/suites/search"
)

// The exit codes.
const (
	exitGo       = 0
	exitNoGo     = 1
	exitNotShown = 2
	exitWrong    = 3
	exitTripped  = 4
)

// gravity is the order of the exit codes: of several the last counts.
var gravity = []int{exitGo, exitNotShown, exitNoGo, exitWrong, exitTripped}

// graver returns the one of two exit codes that counts.
func graver(a, b int) int {
	if slices.Index(gravity, a) > slices.Index(gravity, b) {
		return a
	}
	return b
}

// ended is the error of a command that did its work and came to a code other
// than 0. There is nothing left to say about it.
type ended struct{ code int }

func (ended) Error() string { return "" }

// endWith returns the error that makes hilrig exit with code, nil for 0.
func endWith(code int) error {
	if code == exitGo {
		return nil
	}
	return ended{code}
}

// exitOf returns the exit code of a run's outcome.
func exitOf(outcome string) int {
	switch outcome {
	case record.Go, record.Measured, record.PartEnded, search.NothingFound:
		return exitGo
	case record.NoGo, search.Found:
		return exitNoGo
	}
	return exitNotShown
}

// exitsAndEnvironment is what help says of exit codes and of the environment.
const exitsAndEnvironment = `Ends with
  0  GO, MEASURED or PART: of what was played nothing failed or stayed open
  1  NO-GO: a check failed
  2  NOT SHOWN: something stayed open or was not played, or the run was stopped
  3  wrong use, a wrong file, or results that could not be written whole
  4  the interlock tripped
Of several, 4 comes before 3 before 1 before 2.

Environment
  XDG_STATE_HOME  records are kept in hilrig/records there; left out, in ~/.local/state
  NO_COLOR        whatever it says: no colour; there is none with TERM=dumb either
`
