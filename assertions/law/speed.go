package law

import (
	"math"

	"hilrig/assertions/measure"
)

// speed returns the speed that the firmware may take.
func (l *Law) speed(in *Inputs) measure.Interval {
	v := l.taken(in)
	v.Low -= float64(in.SpeedOpen * math.Abs(v.Low))
	v.High += float64(in.SpeedOpen * math.Abs(v.High))
	return v
}

// taken returns the speed that the firmware may take of the wheels, as they are.
func (l *Law) taken(in *Inputs) measure.Interval {
	if !in.HasWheels {
		return in.Speed
	}
	w := &in.Wheels
	from := SpeedFrom(0)
	if l.p.Demand != nil {
		from = l.p.Demand.SpeedFrom
	}
	low, high := [4]float64{}, [4]float64{}
	for i := range w {
		low[i], high[i] = w[i].Low, w[i].High
	}
	least, most := min(low[0], low[1], low[2], low[3]), max(high[0], high[1], high[2], high[3])
	i := measure.Interval{Low: from.Of(low), High: from.Of(high)}
	switch {
	case from == 0: // whatever firmware takes lies between the slowest wheel and the fastest
	case from < SpeedFromSlowest, least >= 0:
		return i
	case most <= 0:
		// Backwards the slowest may be the one with the least size or the one with the least value.
		other := SpeedFromSlowest + SpeedFromFastest - from
		return hull(i, measure.Interval{Low: other.Of(low), High: other.Of(high)})
	}
	return measure.Interval{Low: least, High: most} // where wheels turn both ways it is any
}

// Of returns the speed that the word takes of the four wheels' speeds, in the order of
// plant.Wheels, by their value: backwards the slowest is the most negative. 0 takes their mean.
func (w SpeedFrom) Of(speeds [4]float64) float64 {
	switch w {
	case SpeedFromFront:
		return (speeds[0] + speeds[1]) / 2
	case SpeedFromRear:
		return (speeds[2] + speeds[3]) / 2
	case SpeedFromSlowest, SpeedFromSecondSlowest, SpeedFromSecondFastest, SpeedFromFastest:
		sort4(&speeds)
		return speeds[w-SpeedFromSlowest]
	}
	return mean(speeds[0], speeds[1], speeds[2], speeds[3])
}

// mean returns the mean of four values, which are added in pairs, so that it is the same with left
// and right exchanged.
func mean(a, b, c, d float64) float64 { return (a + b + (c + d)) / 4 }

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
