package esc

import (
	"context"
	"fmt"

	"hilrig/rig/signal"
	"hilrig/suites/file"
)

const (
	mostFirstTurn = 3 * signal.Second         // for a motor to turn once by so little
	lookedAt      = 1200 * signal.Millisecond // that it is held where a person has to look whether it turns
)

// firstTurn has the motor turn for the first time on a bench in real time, by no more than first, a share
// of full: until the shaft has turned once ahead, or for a person to look where nothing tells. One that
// was not seen to turn is an error, and nothing more is commanded.
func (p *throttleLoop) firstTurn(ctx context.Context, first float64, h *file.HeldCondition) error {
	if first <= 0 {
		return nil
	}
	defer p.set(0)
	p.set(first)
	s := p.sources.shaft
	looks := h.Kind == file.Locked || s == nil
	most := mostFirstTurn
	if looks {
		most = lookedAt
		if h.Kind == file.Locked {
			most = min(most, h.LevelLimit)
		}
	}
	for end := p.next + most; p.next < end; {
		if err := p.turn(ctx); err != nil {
			return err
		}
		if !looks && s.count >= s.angle.PerTurn() {
			return nil
		}
	}
	switch {
	case looks:
		return nil
	case s.count < 0:
		return errBackwards
	}
	return fmt.Errorf("%w: by a first command of %s it did not turn once in %s, and no more was sent; see to the controller's supply, to the leads and the encoder, and whether the controller starts by so little", errNeverTurns, percent(first), most.Short())
}
