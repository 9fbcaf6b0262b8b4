package stand_test

import (
	"fmt"

	"hilrig/rig/signal"
	"hilrig/rig/stand"
)

// A controller is armed by idle, given half throttle for two seconds, and its encoder counted.
func Example() {
	settings := stand.Demo()
	esc, _ := stand.ESCNamed("linear")
	s, err := stand.New(settings, esc)
	if err != nil {
		fmt.Println(err)
		return
	}
	line, _ := settings.Layout.Find(signal.ThrottleCommand, signal.NoWheel)
	var pulses []signal.Edge
	for at := signal.Time(0); at < 2500*signal.Millisecond; at += 2500 * signal.Microsecond {
		width := 1000 * signal.Microsecond // idle
		if at >= 500*signal.Millisecond {
			width = 1500 * signal.Microsecond
		}
		pulses = append(pulses, signal.Edge{At: at, Line: line, Level: true}, signal.Edge{At: at + width, Line: line})
	}
	edges, err := s.Run(pulses, 2500*signal.Millisecond, nil)
	if err != nil {
		fmt.Println(err)
		return
	}
	shaft, _ := settings.Layout.Find(signal.ShaftA, signal.NoWheel)
	turns := 0.0
	for _, e := range edges {
		if e.Line == shaft {
			turns += 1. / float64(2*settings.Encoder.Lines)
		}
	}
	fmt.Printf("%.1f turns\n", turns)
	fmt.Printf("%.4f N m at 24 rad/s\n", s.Truth().Torque(0.5, 24, stand.Up))
	// Output:
	// 58.7 turns
	// 0.1670 N m at 24 rad/s
}
