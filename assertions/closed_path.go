package assertions

import (
	"math"

	"hilrig/rig/trace"
)

// pathError returns the RMS distance of the car from the path that it would have
// driven from the window's beginning with the demanded yaw rate at its actual
// speed. Distances are taken square to the path.
func pathError(_ Measured, d *drive) (float64, error) {
	path := d.demandedPath()
	x, y := d.of(trace.PositionX), d.of(trace.PositionY)
	near, sum := 0, 0.0
	for i := range path {
		away := func(k int) float64 {
			dx, dy := x[i]-path[k].x, y[i]-path[k].y
			return float64(dx*dx) + float64(dy*dy)
		}
		// The nearest point is looked for from the last one on, so that a path that
		// crosses itself does not count as a short cut.
		for near+1 < len(path) && away(near+1) <= away(near) {
			near++
		}
		for near > 0 && away(near-1) < away(near) {
			near--
		}
		across := path[near].across(x[i], y[i])
		sum += float64(across * across)
	}
	return math.Sqrt(sum / float64(len(path))), nil
}

// place is a point of a path with the direction in which the path goes on.
type place struct {
	x, y, heading float64 // m, m, rad
}

// across returns how far to the left of the path's tangent a point lies.
func (p *place) across(x, y float64) float64 {
	return float64((y-p.y)*math.Cos(p.heading)) - float64((x-p.x)*math.Sin(p.heading))
}

// demandedPath returns, tick by tick, where the car would be with the demanded
// yaw rate at its actual speed, from where and how it goes as the window begins.
func (d *drive) demandedPath() []place {
	speed, steer := d.of(trace.Speed), d.of(trace.Steer)
	dt := d.trace.Tick.Seconds()
	at := place{d.of(trace.PositionX)[0], d.of(trace.PositionY)[0], d.of(trace.Heading)[0] + d.slip(0)}
	path := make([]place, 0, d.n())
	for i := range d.n() {
		path = append(path, at)
		turn := d.p.Demand.YawRate(speed[i], steer[i]) * dt
		way := d.speed(i) * dt
		at.x += float64(way * math.Cos(at.heading+turn/2))
		at.y += float64(way * math.Sin(at.heading+turn/2))
		at.heading += turn
	}
	return path
}
