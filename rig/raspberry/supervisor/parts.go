package supervisor

import (
	"errors"
	"fmt"

	"hilrig/rig/raspberry/hostlines"
)

// Level is one driven line with a level.
type Level struct {
	GPIO int
	High bool
}

// Parts are the lines that are made safe: the interlock's own and those that the
// worker drives.
type Parts struct {
	Pins Pins
	Safe []Level // the worker's lines, each with the level that is safe
	// Open opens the lines. It is called by the supervisor, and by a worker whose supervisor died.
	Open func() (hostlines.Lines, error)
}

// openRelay takes the supply away: relay first, then the heartbeat.
func (p *Parts) openRelay(lines hostlines.Lines) error {
	var failed error
	for _, pin := range []int{p.Pins.Relay, p.Pins.Heartbeat} {
		if pin != 0 {
			failed = errors.Join(failed, lines.Output(pin, false))
		}
	}
	return failed
}

// makeSafe brings the worker's lines to their safe levels. Nobody else may have them.
func (p *Parts) makeSafe(lines hostlines.Lines) error {
	var failed error
	for _, l := range p.Safe {
		if err := lines.Output(l.GPIO, l.High); err != nil {
			failed = errors.Join(failed, fmt.Errorf("GPIO%d is not at its safe level: %w", l.GPIO, err))
		}
	}
	return failed
}
