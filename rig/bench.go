package rig

import (
	"errors"

	"hilrig/rig/signal"
)

// ErrNotPossible is returned by [Bench.Restart] where the bench has no way to
// restart its board.
var ErrNotPossible = errors.New("this bench cannot restart its board")

// ErrNoDisturbing is returned by [Bench.Disturb] where the bench has no hold on the levels
// of its ports.
var ErrNoDisturbing = errors.New("this bench cannot disturb its serial lines")

// Bench is the wires between the rig and one board. Time passes only in Wait:
// between two Waits the loop hands over what is to be driven and takes what was
// captured. A Bench is used by one goroutine.
//
// What only some benches have is part of it too, and answers "none" elsewhere, so that
// whoever wraps a bench by embedding it loses nothing.
type Bench interface {
	// Layout is the table of lines that the indexes in edges refer to. It does not change.
	Layout() signal.Layout

	// Now is the time since the run began.
	Now() signal.Time

	// Drive hands over the edges of driven lines up to until, in order of time,
	// none before an earlier call's until. It does not block and keeps no
	// reference to edges. An edge of the past or of a captured line is an error.
	Drive(edges []signal.Edge, until signal.Time) error

	// Send puts data on a port from at on, back to back. Bytes still under way
	// are finished first. It returns the end of the last stop bit as planned, and
	// keeps no reference to data.
	Send(port signal.Port, at signal.Time, data []byte) (end signal.Time, err error)

	// Wait lets time pass until t: everything handed over up to t is played.
	Wait(t signal.Time) error

	// Captured appends the edges of captured lines in order of time, from where the
	// last call ended up to the present, and returns the extended slice.
	Captured(dst []signal.Edge) ([]signal.Edge, error)

	// Exact says that everything is on its wire when it is due: there is nothing
	// to read back.
	Exact() bool

	// ReadBack appends the edges of the driven lines that it Samples, port levels included, that
	// were sampled since the last call, in order of time, gaps among them (see
	// [signal.Edge]), and returns the extended slice. Driven lines are read from the
	// first call on, which comes before time passes. Where the bench is Exact there are none.
	ReadBack(dst []signal.Edge) ([]signal.Edge, error)

	// Samples says whether the bench looks at a driven line. On one that it does not look
	// at, what is driven counts as played when it is due, but for what LateStretches tells. It is
	// false for captured lines.
	Samples(line signal.Line) bool

	// LateStretches appends the stretches, since the last call, in which edges of driven lines that
	// are not sampled were played late by more than LateFloor, in order of time, and returns
	// the extended slice.
	LateStretches(dst []signal.LateStretch) []signal.LateStretch

	// Disturb has the levels of a port pass through d before the board sees them, from the
	// present on; the port has to be at rest. nil ends it. ErrNoDisturbing where the
	// bench cannot.
	Disturb(port signal.Port, d signal.Disturber) error

	// Restart power-cycles the board: outputs go to their idle level, then the board
	// starts anew while time goes on. ErrNotPossible where the bench cannot.
	Restart() error

	// Safe makes every driven line inert, at its idle level, and drops what was handed over.
	// It may be called at any time, more than once.
	Safe() error

	// Close makes the bench safe and gives it back. After Close only Close may be called.
	Close() error
}
