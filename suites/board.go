package suites

import (
	"fmt"
	"math"
	"strings"

	"hilrig/rig"
	"hilrig/rig/board"
	"hilrig/rig/signal"
)

// boardMaker makes a board for a bench with that wiring; seed draws the phase
// of its timers.
type boardMaker func(w *rig.Wiring, seed uint64) (board.Board, error)

// boardNamed returns what makes the board called name: "built-in", with a seeded
// fault "built-in:FAULT", or one that controls nothing, "null:KIND".
func boardNamed(name string) (boardMaker, error) {
	kind, what, more := strings.Cut(name, ":")
	switch {
	case kind == "built-in":
		s := board.Bramble()
		if more {
			var err error
			if s, err = board.WithFault(s, what); err != nil {
				return nil, err
			}
		}
		return builtIn(s), nil
	case kind == "null" && more:
		for _, k := range board.Kinds {
			if string(k) == what {
				return nullBoard(k), nil
			}
		}
		return nil, fmt.Errorf("null board %q is not known; use one of %v", what, board.Kinds)
	}
	return nil, fmt.Errorf("board %q is not known; use built-in, built-in:FAULT (hilrig faults --list) or null:KIND", name)
}

// builtIn makes the built-in board with these settings.
func builtIn(s board.Settings) boardMaker {
	return func(w *rig.Wiring, seed uint64) (board.Board, error) {
		return board.NewBuiltIn(s, w.Layout(), seed)
	}
}

// nullBoard makes a board that controls nothing.
func nullBoard(kind board.Kind) boardMaker {
	return func(w *rig.Wiring, seed uint64) (board.Board, error) {
		return board.NewNull(kind, pulses(w), w.Layout(), seed)
	}
}

// pulses returns the widths that a board which controls nothing has to know.
func pulses(w *rig.Wiring) board.Pulses {
	width := func(share float64) signal.Time {
		p := &w.Throttle
		along := (share - p.LowValue) / (p.HighValue - p.LowValue)
		return p.Low + signal.Time(math.Round(along*float64(p.High-p.Low)))
	}
	m := &w.Motors[0]
	return board.Pulses{
		ThrottleIdle: width(0), ThrottleFull: width(1),
		MotorIdle: m.Idle, MotorFull: m.Full, BothWays: m.WithNeutral,
	}
}

// WithBoard puts a board of the built-in controller with these settings on the
// setup's bench, under a name for the record.
func (s *Setup) WithBoard(name string, settings board.Settings) {
	s.Board, s.board = name, builtIn(settings)
}
