package suites

import (
	"context"

	"hilrig/rig/signal"
	"hilrig/stimulus"
)

// asleep is how long before a power-up within a case its wires already are as it
// begins: a last good frame that was under way would reach the board awake.
const asleep = 50 * signal.Millisecond

// wake power-cycles the board for a program that begins with its power-up.
func (l *lane) wake(ctx context.Context, program *stimulus.Program) error {
	before := stimulus.Held(l.rest, asleep)
	for _, f := range program.Faults {
		if f.From == 0 {
			f.To = asleep
			before.Faults = append(before.Faults, f)
		}
	}
	if err := l.rig.Play(ctx, before, nil); err != nil {
		return err
	}
	return l.rig.Restart()
}
