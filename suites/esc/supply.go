package esc

import (
	"math"

	"hilrig/assertions/characteristic"
	"hilrig/assertions/measure"
)

// voltages are those of the supply in V, one for each reading of a set: of Readings, First and Repeated.
// Not a number where it is not known.
type voltages [3][]float64

// atConstantVoltage fills in what the readings of a set would be at the voltage v0 without load, and
// returns the set of those; nil where too few voltages are known.
//
// A controller feeds the motor with a duty d(x) of the supply's voltage V, so that its torque at a held speed w
// is T = K (d V - K w)/R: one straight line in the product of duty and voltage. With V0 in the place of
// V the same command gives what at V another duty gives, d V0/V, which is larger by d (V0 - V)/V. Where the duty
// goes with the command, that is a command larger by x (V0 - V)/V, and
//
//	T_const = T + (dT/dx) x (V0 - V)/V
//
// with the slope dT/dx of the readings about x: to first order in the sag. Above saturation the duty does not go with the
// command, the slope is 0 and nothing is corrected. step is by how much two voltages differ at least that the
// source can tell apart, common the width within which all voltages of a level may be off alike.
func atConstantVoltage(set *characteristic.Set, v0, step, common float64, volts voltages) *characteristic.Set {
	slopes := slopesOf(set)
	constant := *set
	constant.Held += ", at constant voltage"
	constant.Readings = constantReadings(set, set.Readings, v0, volts[among], slopes)
	constant.First = constantReadings(set, set.First, v0, volts[first], slopes)
	constant.Repeated = constantReadings(set, set.Repeated, v0, volts[again], slopes)
	steepest := 0.0
	for i, slope := range slopes {
		if x := math.Abs(slope * set.Levels[i]); x > steepest { // false where it is not a number
			steepest = x
		}
	}
	constant.Resolution = measure.RootSumSquare(set.Resolution, steepest*step/v0)
	constant.Common = steepest * common / v0
	constant.Fine = nil // small changes are of one voltage each: they say the same
	known := 0
	for i := range set.Readings {
		set.Readings[i].Constant = constant.Readings[i].Output
		if constant.Readings[i].Status == characteristic.Read {
			known++
		}
	}
	for i := range set.First {
		set.First[i].Constant = constant.First[i].Output
	}
	for i := range set.Repeated {
		set.Repeated[i].Constant = constant.Repeated[i].Output
	}
	if known == 0 {
		return nil
	}
	constant.Fine = set.Fine
	return &constant
}

// dropKnown is to which share of itself a declared fall of the supply is known, either way: the meter's own uncertainty
// and, beyond the first order, that of a duty that does not go with the command.
const dropKnown = 0.2

// fallen returns the supply's voltages of a set's readings where it is declared by how much, drop, they fall from
// v0 at full throttle.
//
// The controller gives the motor the power that it takes, so that the supply's current is duty times the motor's, and
// the motor's goes with its torque T, drag included. With a supply that falls in proportion to its current, and a duty
// that goes with the command x,
//
//	V(x) = v0 - drop x T(x) / T(1)
//
// to first order. A duty that does not go with the command, d(x), is off by drop (d(x)/x - 1) of that: for a controller that
// saturates at 80 % a fifth of the drop where it is most. That, and as much for a multimeter, is what dropKnown says; it enters
// intervals as what is the same in all cycles. T(1) is the mean at the highest level, carried on
// by the slope there where the plan ends below full.
func fallen(set *characteristic.Set, v0, drop float64) (v voltages) {
	full, n := 0.0, 0
	top := len(set.Levels) - 1
	for i := range set.Readings {
		if r := &set.Readings[i]; r.Level == top && r.Status == characteristic.Read {
			full += r.Output
			n++
		}
	}
	full = full/float64(n) + float64((1-set.Levels[top])*slopesOf(set)[top]) // not a number where nothing was read there
	for at, list := range [][]characteristic.Reading{among: set.Readings, first: set.First, again: set.Repeated} {
		for i := range list {
			v[at] = append(v[at], v0-float64(drop*(set.Levels[list[i].Level]*(list[i].Output/full))))
		}
	}
	return v
}

// constantReadings returns readings at constant voltage; those whose voltage is not known are dropped.
func constantReadings(set *characteristic.Set, readings []characteristic.Reading, v0 float64, volts, slopes []float64) []characteristic.Reading {
	out := make([]characteristic.Reading, len(readings))
	for i, r := range readings {
		if r.Status == characteristic.Read {
			v := volts[i]
			r.Output += float64(slopes[r.Level] * set.Levels[r.Level] * ((v0 - v) / v))
			if math.IsNaN(r.Output) {
				r.Status, r.Why = characteristic.Dropped, "the supply's voltage is not known then"
			}
		}
		out[i] = r
	}
	return out
}

// slopesOf returns the slope of the mean outputs over the command at each level: of the straight line through the level and
// those beside it, not a number where fewer than two of them were read.
func slopesOf(set *characteristic.Set) []float64 {
	n := len(set.Levels)
	sum, count := make([]float64, n), make([]float64, n)
	for i := range set.Readings {
		if r := &set.Readings[i]; r.Status == characteristic.Read {
			sum[r.Level] += r.Output
			count[r.Level]++
		}
	}
	slopes := make([]float64, n)
	for i := range slopes {
		var x, y []float64
		for j := max(0, i-2); j <= min(n-1, i+2); j++ {
			if count[j] > 0 {
				x, y = append(x, set.Levels[j]), append(y, sum[j]/count[j])
			}
		}
		switch l, ok := measure.LineOf(x, y); {
		case ok:
			slopes[i] = l.Slope
		case len(x) == 2:
			slopes[i] = (y[1] - y[0]) / (x[1] - x[0])
		default:
			slopes[i] = math.NaN()
		}
	}
	return slopes
}
