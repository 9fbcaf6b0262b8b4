package file

import (
	"fmt"

	"hilrig/plant"
	"hilrig/rig"
	"hilrig/rig/signal"
)

// Complete returns the bench's wiring with the steering pulse set by the car:
// the line of least squares through the mean wheel angles of its steering
// table, as a firmware has it that takes the angle as linear in the pulse. The
// error says that the line has no slope.
func Complete(b *Bench, c *Car) (rig.Wiring, error) {
	w := b.Wiring
	points := c.Car.Steering.Points
	slope, offset := line(points)
	if slope == 0 {
		return w, fmt.Errorf("%s: the steering table of %q has no slope; give two rows with different pulses and angles", c.Source.Path, c.Name)
	}
	low, high := points[0].Pulse, points[len(points)-1].Pulse
	w.Steer.Low, w.Steer.High = signal.FromSeconds(low), signal.FromSeconds(high)
	w.Steer.LowValue = float64(slope*low) + offset
	w.Steer.HighValue = float64(slope*high) + offset
	return w, nil
}

// line returns the line of least squares through the mean angles, rad over s
// of pulse; a slope of 0 where there is none.
func line(points []plant.SteerPoint) (slope, offset float64) {
	if len(points) < 2 {
		return 0, 0
	}
	n := float64(len(points))
	var pulse, angle float64
	for _, p := range points {
		pulse += p.Pulse / n
		angle += (p.Left + p.Right) / 2 / n
	}
	var xx, xy float64
	for _, p := range points {
		dx, dy := p.Pulse-pulse, (p.Left+p.Right)/2-angle
		xx += float64(dx * dx)
		xy += float64(dx * dy)
	}
	if xx == 0 {
		return 0, 0
	}
	slope = xy / xx
	return slope, angle - float64(slope*pulse)
}
