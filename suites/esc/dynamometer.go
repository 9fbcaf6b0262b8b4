package esc

import (
	"math"

	"hilrig/assertions/characteristic"
	"hilrig/assertions/measure"
	"hilrig/rig/signal"
)

// dynamometer takes the readings from the file of somebody's dynamometer: nothing is played.
func (r *run) dynamometer() {
	c := r.setup.Stand.CSV
	for i := range r.sets {
		h := &r.sets[i]
		h.set = &characteristic.Set{Held: h.condition.String(), Unit: "N m", Levels: c.Levels[i], Absolute: true, Drag: &measure.Estimate{}}
		h.why = "the file has no voltage"
	}
	for i := range c.Rows {
		row := &c.Rows[i]
		set := r.sets[row.Held].set
		set.Readings = append(set.Readings, characteristic.Reading{
			Level: row.Level, Direction: row.Direction, Cycle: row.Cycle,
			At: signal.Time(i), Output: row.Torque, Constant: math.NaN(),
		})
	}
}
