package rig_test

import (
	"context"
	"fmt"

	"hilrig/rig"
	"hilrig/rig/signal"
	"hilrig/rig/simulated"
	"hilrig/rig/trace"
	"hilrig/stimulus"
)

// passOn is a board of one's own: each edge of the throttle line goes to all four motor
// lines 2 us later.
type passOn struct {
	throttle signal.Line
	motors   [4]signal.Line
	waiting  []signal.Edge // own edges whose time has not come
}

// Name implements board.Board.
func (b *passOn) Name() string { return "pass on" }

// Run implements board.Board.
func (b *passOn) Run(in []signal.Edge, until signal.Time, out []signal.Edge) ([]signal.Edge, error) {
	for _, e := range in {
		if e.Line == b.throttle {
			for _, m := range b.motors {
				b.waiting = append(b.waiting, signal.Edge{At: e.At + 2*signal.Microsecond, Line: m, Level: e.Level})
			}
		}
	}
	for len(b.waiting) > 0 && b.waiting[0].At <= until {
		out = append(out, b.waiting[0])
		b.waiting = b.waiting[1:]
	}
	return out, nil
}

// Restart implements board.Board. What is on its way still goes out.
func (b *passOn) Restart(signal.Time) error { return nil }

// Close implements board.Board.
func (b *passOn) Close() error { return nil }

// A bench of one's own: the rig plays a car at 4 m/s with 40 % of throttle to a board that
// passes the throttle on to its motors.
func ExampleNew() {
	w := wiring() // encoders, receiver pulses, a yaw sensor, and servo pulses back
	layout := w.Layout()
	own := new(passOn)
	own.throttle, _ = layout.Line("throttle")
	for i, name := range []string{"motor_front_left", "motor_front_right", "motor_rear_left", "motor_rear_right"} {
		own.motors[i], _ = layout.Line(name)
	}
	bench, err := simulated.New(simulated.Settings{Layout: layout, Board: own})
	if err != nil {
		fmt.Println(err)
		return
	}
	defer bench.Close()
	r, err := rig.New(bench, rig.Settings{Wiring: w, Car: car(), Seed: 1})
	if err != nil {
		fmt.Println(err)
		return
	}
	var tr trace.Trace
	p := stimulus.Held(stimulus.Values{Speed: 4, Throttle: 0.4}, 100*signal.Millisecond)
	if err := r.Play(context.Background(), p, &tr); err != nil {
		fmt.Println(err)
		return
	}
	for _, m := range tr.Motor {
		last := m.Frames[len(m.Frames)-1]
		fmt.Printf("%d commands, the last is %.1f %%\n", len(m.Frames), 100*last.Value)
	}
	// Output:
	// 9 commands, the last is 40.0 %
	// 9 commands, the last is 40.0 %
	// 9 commands, the last is 40.0 %
	// 9 commands, the last is 40.0 %
}
