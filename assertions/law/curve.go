package law

import (
	"sort"

	"hilrig/assertions/measure"
)

// Curve is what the motors are commanded with no shift, over the throttle: straight lines between
// points.
type Curve struct {
	Throttle []float64             // share, ascending
	Motors   [][4]measure.Interval // at each of them, in the order of plant.Wheels
	// Stood are the commands that were measured there, share of range, which a floor or a cap may have kept from where the
	// curve itself goes; nil: the curve was not measured.
	Stood [][4]float64
}

// Identity returns the curve of firmware that passes the throttle on.
func Identity() *Curve {
	of := func(x float64) (m [4]measure.Interval) {
		for i := range m {
			m[i] = measure.Interval{Low: x, High: x}
		}
		return m
	}
	return &Curve{Throttle: []float64{-1, 1}, Motors: [][4]measure.Interval{of(-1), of(1)}}
}

// at returns a motor's command at a throttle; beyond the ends that of the end.
func (c *Curve) at(motor int, throttle float64) measure.Interval {
	k := sort.SearchFloat64s(c.Throttle, throttle)
	switch {
	case k == 0:
		return c.Motors[0][motor]
	case k == len(c.Throttle):
		return c.Motors[k-1][motor]
	}
	a, b := c.Motors[k-1][motor], c.Motors[k][motor]
	part := (throttle - c.Throttle[k-1]) / (c.Throttle[k] - c.Throttle[k-1])
	return measure.Interval{Low: a.Low + float64(part*(b.Low-a.Low)), High: a.High + float64(part*(b.High-a.High))}
}

// FromThrottle returns what each motor is commanded with no shift at a throttle, before cap and floor,
// as the policy declares it: with no throttle curve it is the throttle, and motors
// may stand apart by what it declares. With any other curve, or where the policy does not
// say, it is anything that can be sent, and ok is false.
func (l *Law) FromThrottle(throttle measure.Interval) (unshifted [4]measure.Interval, ok bool) {
	if l.p.ThrottleCurve != ThrottleCurveNone {
		for i := range unshifted {
			unshifted[i] = measure.Interval{Low: l.scale.Lowest, High: 1}
		}
		return unshifted, false
	}
	apart := 0.0
	if e := l.p.MotorsEqualWithin; e != nil {
		apart = *e
	}
	for i := range unshifted {
		unshifted[i] = measure.Interval{Low: max(throttle.Low-apart, l.scale.Lowest), High: min(throttle.High+apart, 1)}
	}
	return unshifted, true
}

// unshifted returns what each motor is commanded with no shift by a curve, nil being what the policy
// declares.
func (l *Law) unshifted(c *Curve, throttle measure.Interval) (unshifted [4]measure.Interval) {
	if c == nil || len(c.Throttle) == 0 {
		unshifted, _ = l.FromThrottle(throttle)
		return unshifted
	}
	for i := range unshifted {
		unshifted[i] = c.at(i, throttle.Low)
		if throttle.High == throttle.Low {
			continue
		}
		unshifted[i] = hull(unshifted[i], c.at(i, throttle.High))
		for k, x := range c.Throttle {
			if x > throttle.Low && x < throttle.High {
				unshifted[i] = hull(unshifted[i], c.Motors[k][i])
			}
		}
	}
	return unshifted
}

// At returns what each motor is commanded at a throttle, share of its range; beyond the ends that of the
// end.
func (c *Curve) At(throttle float64) (commands [4]measure.Interval) {
	for i := range commands {
		commands[i] = c.at(i, throttle)
	}
	return commands
}

// stood returns where a motor stood at a level: in its middle, where that was not measured.
func (c *Curve) stood(level, motor int) float64 {
	if c.Stood != nil {
		return c.Stood[level][motor]
	}
	m := c.Motors[level][motor]
	return (m.Low + m.High) / 2
}

// Stands returns between what the motors stood at the levels on either side of a throttle and between its ends, share of range;
// ok is false where none of that was measured.
func (c *Curve) Stands(throttle measure.Interval) (all [4]measure.Interval, ok bool) {
	if c == nil || len(c.Stood) == 0 {
		return all, false
	}
	first := sort.Search(len(c.Throttle), func(k int) bool { return c.Throttle[k] > throttle.Low }) - 1
	last := sort.SearchFloat64s(c.Throttle, throttle.High)
	for i := range all {
		all[i] = measure.RangeOf()
		for k := max(first, 0); k <= min(last, len(c.Stood)-1); k++ {
			all[i].Include(c.Stood[k][i])
		}
	}
	return all, true
}

// ThrottleFor returns the least throttle from 0 on, share of its range, at which the motors' mean reaches a
// command; ok is false where none up to 1 does.
func (c *Curve) ThrottleFor(command float64) (throttle float64, ok bool) {
	known := Curve{Throttle: c.Throttle, Motors: make([][4]measure.Interval, len(c.Motors))}
	for k := range c.Motors {
		for w := range known.Motors[k] {
			at := c.stood(k, w)
			known.Motors[k][w] = measure.Interval{Low: at, High: at}
		}
	}
	mean := func(t float64) float64 {
		at := known.At(t)
		all := together(&at)
		return (all.Low + all.High) / 8
	}
	const steps = 1000
	for k := range steps + 1 {
		if t := float64(k) / steps; mean(t) >= command-1e-9 {
			return t, true
		}
	}
	return 0, false
}
