package suites

import (
	"context"

	"hilrig/rig"
	"hilrig/rig/signal"
	"hilrig/rig/trace"
	"hilrig/stimulus"
	"hilrig/suites/file"
)

// Turn is a little throttle, once: from rest, and back to it.
type Turn struct {
	Throttle float64     // share
	Settle   signal.Time // what the bench settles before, beyond what the board asks for, while speed controllers start
	Hold     signal.Time // how long the throttle is held
}

// How a turn begins and ends.
const (
	turnRamp   = 200 * signal.Millisecond // from rest to the throttle: nothing jumps
	turnSettle = 150 * signal.Millisecond // until the commands have followed, then they are read
	turnAfter  = 300 * signal.Millisecond // at rest, still captured
)

// Turned is what came of a turn.
type Turned struct {
	Trace    *trace.Trace // all of it, ramp and rest included
	Timing   rig.Timing   // how well the bench kept time, from its power-up on
	From, To signal.Time  // the throttle was held, and had time to show; the bench's time
	Idle     signal.Time  // from here on the commands have to be at rest again
}

// Before is how long a turn takes until the throttle opens.
func (s *Setup) Before(t Turn) signal.Time {
	return s.powerUpLength() + t.Settle
}

// atZero returns the setup with a throttle, steer angle and yaw rate of 0 between cases.
func (s *Setup) atZero() *Setup {
	still, bench := *s, *s.Bench
	bench.Board.BetweenCases.Values = stimulus.Values{}
	still.Bench = &bench
	return &still
}

// Turn opens the bench, powers its board up and arms it, rests, plays the turn and closes
// the bench. The car stands, steers straight and does not yaw, and the gain trim is at 0:
// a policy has no reason there to command one motor more than another. Wherever the
// bench file leaves throttle, steer and yaw rate between cases, here they rest at 0.
func (s *Setup) Turn(ctx context.Context, t Turn) (*Turned, error) {
	still := s.atZero()
	ses, err := still.open(ctx, &file.Suite{Name: "turn"}, still.board, nil)
	defer ses.close()
	if err != nil {
		return nil, err
	}
	if err := ses.rig.Settle(ctx, ses.between, t.Settle, 0); err != nil {
		return nil, err
	}
	program := stimulus.Held(stimulus.Values{}, turnRamp+t.Hold+turnAfter)
	program.Throttle.RampTo(0, turnRamp, t.Throttle)
	program.Throttle.Hold(turnRamp+t.Hold, 0)
	out := &Turned{Trace: &trace.Trace{}}
	if err := ses.rig.Play(ctx, program, out.Trace); err != nil {
		return nil, err
	}
	at := out.Trace.Start
	out.From, out.To = at+turnRamp+turnSettle, at+turnRamp+t.Hold
	out.Idle = out.To + turnSettle
	out.Timing = ses.rig.Timing()
	return out, nil
}
