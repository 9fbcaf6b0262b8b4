package file

import (
	"fmt"

	"hilrig/rig"
	"hilrig/rig/signal"
)

// Complete returns the bench's wiring with the steering pulse, or the steering channel of its bus, set by the car:
// the line through the mean wheel angles of its steering table, as a firmware
// has it that takes the angle as linear in the pulse. The error says that the line
// has no slope.
func Complete(b *Bench, c *Car) (rig.Wiring, error) {
	w := b.Wiring
	points := c.Car.Steering.Points
	line := c.Car.Steering.Line()
	if line.Slope == 0 {
		return w, fmt.Errorf("%s: the steering table of %q has no slope; give two rows with different pulses and angles", c.Source.Path, c.Name)
	}
	if w.Bus.Port != "" {
		w.Bus.Steer.LowValue = line.AngleFor(b.SteerPulses[0].Seconds())
		w.Bus.Steer.HighValue = line.AngleFor(b.SteerPulses[1].Seconds())
		return w, nil
	}
	low, high := points[0].Pulse, points[len(points)-1].Pulse
	w.Steer.Low, w.Steer.High = signal.FromSeconds(low), signal.FromSeconds(high)
	w.Steer.LowValue, w.Steer.HighValue = line.AngleFor(low), line.AngleFor(high)
	return w, nil
}
