package main

import (
	"slices"

	"hilrig/suites/record"
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
	case record.Go, record.Measured, record.PartEnded:
		return exitGo
	case record.NoGo:
		return exitNoGo
	}
	return exitNotShown
}
