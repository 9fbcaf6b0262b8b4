package suites

import (
	"context"

	"hilrig/rig/signal"
	"hilrig/stimulus"
)

// powerUpLead is how long before a power-up within a case its wires already are as it
// begins: a last good frame that was under way would reach the board awake.
const powerUpLead = 50 * signal.Millisecond

// powerCycle power-cycles the board for a program that begins with its power-up. Where the throttle is not then as it is
// between cases, the receiver is lost before: a pulse of that other throttle, under way, would let the board arm.
func (ses *session) powerCycle(ctx context.Context, program *stimulus.Program) error {
	before := stimulus.Held(ses.between, powerUpLead)
	for _, f := range program.Faults {
		if f.From == 0 {
			f.To = powerUpLead
			before.Faults = append(before.Faults, f)
		}
	}
	if program.Values(0).Throttle != ses.between.Throttle {
		for _, wire := range [...]string{"steer", "throttle", "gain"} {
			before.Faults = append(before.Faults, stimulus.Fault{Kind: stimulus.Lost, Wire: wire, To: powerUpLead})
		}
	}
	if err := ses.rig.Play(ctx, before, nil); err != nil {
		return err
	}
	return ses.rig.Restart()
}
