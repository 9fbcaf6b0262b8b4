package law

import (
	"math"

	"hilrig/assertions/measure"
)

// speed returns the speed that the firmware may take of the wheels.
func (l *Law) speed(in *Inputs) measure.Interval {
	if !in.HasWheels {
		return in.Speed
	}
	w := &in.Wheels
	from := SpeedFrom(0)
	if l.p.Demand != nil {
		from = l.p.Demand.SpeedFrom
	}
	switch from {
	case SpeedFromMean:
		return measure.Interval{Low: mean(w[0].Low, w[1].Low, w[2].Low, w[3].Low), High: mean(w[0].High, w[1].High, w[2].High, w[3].High)}
	case SpeedFromFront:
		return measure.Interval{Low: (w[0].Low + w[1].Low) / 2, High: (w[0].High + w[1].High) / 2}
	case SpeedFromRear:
		return measure.Interval{Low: (w[2].Low + w[3].Low) / 2, High: (w[2].High + w[3].High) / 2}
	case SpeedFromSlowest:
		return inOrder(w, 0)
	case SpeedFromSecondSlowest:
		return inOrder(w, 1)
	case SpeedFromSecondFastest:
		return inOrder(w, 2)
	case SpeedFromFastest:
		return inOrder(w, 3)
	}
	// Whatever firmware takes lies between the slowest wheel and the fastest.
	return measure.Interval{Low: min(w[0].Low, w[1].Low, w[2].Low, w[3].Low), High: max(w[0].High, w[1].High, w[2].High, w[3].High)}
}

// mean returns the mean of four values, which are added in pairs, so that it is the same with left
// and right exchanged.
func mean(a, b, c, d float64) float64 { return (a + b + (c + d)) / 4 }

// inOrder returns the speed that stands at a place in the order of the wheels, the slowest
// first. Backwards the slowest may be the one with the least size or the one with the least
// value: it is then either, and any where wheels turn both ways.
func inOrder(w *[4]measure.Interval, place int) measure.Interval {
	low, high := [4]float64{}, [4]float64{}
	for i := range w {
		low[i], high[i] = w[i].Low, w[i].High
	}
	sort4(&low)
	sort4(&high)
	i := measure.Interval{Low: low[place], High: high[place]}
	switch {
	case low[0] >= 0:
		return i
	case high[3] <= 0:
		return hull(i, measure.Interval{Low: low[3-place], High: high[3-place]})
	}
	return measure.Interval{Low: low[0], High: high[3]}
}

// sort4 sorts four values in ascending order.
func sort4(x *[4]float64) {
	for _, p := range [...][2]int{{0, 1}, {2, 3}, {0, 2}, {1, 3}, {1, 2}} {
		if x[p[0]] > x[p[1]] {
			x[p[0]], x[p[1]] = x[p[1]], x[p[0]]
		}
	}
}

// size returns the interval of the sizes of what lies in i.
func size(i measure.Interval) measure.Interval {
	most := max(math.Abs(i.Low), math.Abs(i.High))
	if i.Low <= 0 && i.High >= 0 {
		return measure.Interval{High: most}
	}
	return measure.Interval{Low: min(math.Abs(i.Low), math.Abs(i.High)), High: most}
}
