package suites

import (
	"context"
	"slices"

	"hilrig/rig/board"
	"hilrig/suites/file"
	"hilrig/suites/record"
)

// WithBoard puts a board of the built-in controller with these settings on the
// setup's bench, under a name for the record. It sends its commands as the
// settings say, whatever the bench declares.
func (s *Setup) WithBoard(name string, settings board.Settings) {
	s.Board = name
	s.board = func(s *Setup, suite string) (board.Board, error) {
		return board.NewBuiltIn(settings, s.wiring.Layout(), s.boardSeed(suite))
	}
}

// OfPolicy returns the settings of the built-in board that keeps the policy of the setup's car.
func (s *Setup) OfPolicy() (board.Settings, error) { return s.settingsOfPolicy() }

// MadeOf returns a board of these settings on the setup's wires, or why there is none.
func (s *Setup) MadeOf(settings board.Settings) (board.Board, error) {
	return board.NewBuiltIn(settings, s.wiring.Layout(), 1)
}

// KeysAsked holds each of the policy's keys that ask something, and whether checks of the run asked about it.
func (s *Setup) KeysAsked(r *record.Result) map[string]bool { return s.keysAsked(r) }

// Fitted plays the signs of life where they measure what the motors are commanded over the throttle, and returns the setup
// fitted to that and without them; where nothing is measured, the setup itself.
func (s *Setup) Fitted(ctx context.Context) (*Setup, error) {
	fitted, err := s.Measured(ctx)
	if err != nil || fitted == s {
		return fitted, err
	}
	out := *fitted
	out.Suites = slices.DeleteFunc(slices.Clone(out.Suites), func(x *file.Suite) bool { return x == s.life })
	return &out, nil
}
