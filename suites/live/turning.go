package live

import (
	"context"
	"fmt"
	"math"

	"hilrig/rig"
	"hilrig/rig/raspberry/pinout"
	"hilrig/rig/raspberry/preflight"
	"hilrig/rig/signal"
	"hilrig/stimulus/wire"
	"hilrig/suites"
	"hilrig/suites/file"
)

// FirstHold is how long the motors turn, each of the first times.
const FirstHold = signal.Second

// How long the rig waits once the relay has closed.
const (
	// settlePowered is for the speed controllers, whose supply comes with the relay: they
	// sound their start and want idle meanwhile (common practice, no source).
	settlePowered = 3 * signal.Second
	// settleInMemory is for none.
	settleInMemory = 100 * signal.Millisecond
)

// FirstTurns returns what has motors turn for the first time on a bench with pins, or on
// one in memory, and the share of full command beyond which they lose their supply.
func FirstTurns(setup *suites.Setup, memory bool) (t *Turner, limit float64) {
	throttle, limit := preflight.FirstTurn(setup.Bench.Interlock.MotorLimit)
	t = &Turner{Setup: setup, Of: suites.Turn{Throttle: throttle, Settle: settlePowered, Hold: FirstHold}}
	if memory { // no motor turns, and this machine's lateness may pass for throttle
		t.Of.Settle, limit = settleInMemory, Limit(setup.Bench.Interlock.MotorLimit)
	}
	return t, limit
}

// Before returns how long after the relay has closed the motors turn.
func (t *Turner) Before() signal.Time { return t.Setup.Before(t.Of) }

// Turner has the motors turn.
type Turner struct {
	Setup *suites.Setup
	Of    suites.Turn
	// Of the last turn: what was commanded, and how well the bench kept time.
	Mean   [4]float64
	timing rig.Timing
}

// Turn plays one turn and judges what was commanded.
func (t *Turner) Turn(ctx context.Context) preflight.Result {
	turned, err := t.Setup.Turn(ctx, t.Of)
	if err != nil {
		return Failed(err)[0]
	}
	t.timing = turned.Timing
	var found preflight.Result
	found, t.Mean = preflight.Gentle(turned.Trace, t.Setup.Bench.Wiring.Motors, t.Of.Throttle, slackOf(&t.Setup.Bench.Wiring.Throttle, turned.Timing), turned.From, turned.To, turned.Idle)
	return found
}

// TryThrottle has the board command what the rotation will have it command, while no motor has
// its supply: up to three times, where the machine did not keep time.
func TryThrottle(ctx context.Context, setup *suites.Setup) []preflight.Result {
	throttle, _ := preflight.FirstTurn(setup.Bench.Interlock.MotorLimit)
	t := Turner{Setup: setup, Of: suites.Turn{Throttle: throttle, Hold: FirstHold}}
	found := t.Turn(ctx)
	for try := 0; try < 2 && found.Grade == preflight.Wrong && t.timing.Uncertain+t.timing.LateCount > 0; try++ {
		found = t.Turn(ctx)
	}
	return []preflight.Result{found}
}

// slackOf returns by how much of a throttle's range lateness may have moved it, one edge
// of a pulse being late and the other not; 0 where the throttle is no pulse.
func slackOf(p *wire.Pulse, t rig.Timing) float64 {
	span := p.High - p.Low
	if span == 0 {
		return 0
	}
	return math.Abs(float64(t.Late+t.Gap) / float64(span) * (p.HighValue - p.LowValue))
}

// atRest is how long the board is watched.
const atRest = signal.Second

// TryBoard plays rest to the board and judges what it sends: up to three times, where the
// machine did not keep time.
func TryBoard(ctx context.Context, setup *suites.Setup) []preflight.Result {
	for try := 0; ; try++ {
		tr, timing, err := setup.Settle(ctx, atRest)
		if err != nil {
			return Failed(err)
		}
		found := preflight.Alive(tr, setup.Bench.Wiring.Motors, slackOf(&setup.Bench.Wiring.Throttle, timing))
		found = append(found, unseen(setup.Bench, timing.Unseen)...)
		if timing.LateCount == 0 && timing.Uncertain == 0 {
			return found
		}
		if !preflight.AnyWrong(found) || try == 2 {
			edges := "edges"
			if timing.LateCount == 1 {
				edges = "edge"
			}
			return append(found, preflight.Result{Check: "time kept", Grade: preflight.Warning,
				Says:   fmt.Sprintf("%d %s late by up to %.3g ms, samples up to %.3g ms apart", timing.LateCount, edges, 1000*timing.Late.Seconds(), 1000*timing.Gap.Seconds()),
				Remedy: "look at hilrig timing"})
		}
	}
}

// unseen reports serial ports on whose pin nothing was seen of what was sent.
func unseen(b *file.Bench, ports uint32) (found []preflight.Result) {
	for i, p := range b.Wiring.Layout().Ports {
		if ports>>i&1 == 1 {
			pin := pinout.GPIO(b.Pins[p.Name])
			found = append(found, preflight.Result{Check: p.Name, Grade: preflight.Wrong, Says: "sent, and nothing is seen at " + pin, Remedy: "the device of the port leads elsewhere, or the pin is not the port's: see device and pin in the bench file, config.txt, and ls -l /dev/serial0"})
		}
	}
	return found
}
