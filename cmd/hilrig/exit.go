package main

import (
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

// ended is the error of a command that did its work and came to a code other
// than 0. There is nothing left to say about it.
type ended struct{ code int }

func (ended) Error() string { return "" }

// lacking is the error of a command that is right and cannot be done on this machine.
type lacking struct{ error }

// Unwrap returns what is lacking.
func (l lacking) Unwrap() error { return l.error }

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
	case record.Go:
		return exitGo
	case record.NoGo:
		return exitNoGo
	}
	return exitNotShown
}
