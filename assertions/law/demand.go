package law

import (
	"math"

	"hilrig/assertions/measure"
)

// leastDivisor is the least that L + K V^2 may come to for the formula of the demand to be
// asked, as a share of L: at and beyond the critical speed of a car that oversteers it has
// no answer, and firmware keeps it somewhere above 0. Common practice, no source.
const leastDivisor = 0.1

// demand returns the least and the most that the firmware may take for the demand at speeds
// of one sign, rad/s. ok is false where the policy's formula has no answer.
func (r *reckoning) demand(speed measure.Interval) (d measure.Interval, ok bool) {
	p := r.l.p.Demand
	slope, ok := r.l.slope(speed)
	if !ok {
		return d, false
	}
	d = limited(p, times(slope, r.in.Steer), speed)
	if p.SteerRate != 0 {
		d = r.fedForward(d, slope, speed)
	}
	less, more := 1-p.Within, 1+p.Within
	return measure.Interval{Low: min(d.Low*less, d.Low*more), High: max(d.High*less, d.High*more)}, true
}

// settles is after how many rounds a yaw rate on demand is taken as found: each leaves less than half of
// what the one before left, for any car whose track is no wider than twice its wheelbase.
const settles = 60

// OnDemand returns the yaw rate in rad/s at which a car that goes straight ahead with a speed in m/s and a
// mean steer angle in rad turns just as is demanded of it. The firmware takes the speed of the wheels, whose
// speeds go with the yaw rate: hubs returns those of the four hubs in m/s for one, in the order of
// plant.Wheels. With nil every wheel goes at the speed.
func (d *Demand) OnDemand(speed, steer float64, hubs func(yawRate float64) [4]float64) float64 {
	yaw := d.YawRate(speed, steer)
	for k := 0; hubs != nil && k < settles; k++ {
		before := yaw
		if yaw = d.YawRate(d.SpeedFrom.Of(hubs(yaw)), steer); yaw == before {
			break
		}
	}
	return yaw
}

// slope returns V/(L + K V^2) over speeds of one sign.
func (l *Law) slope(speed measure.Interval) (measure.Interval, bool) {
	d := l.p.Demand
	of := func(v float64) float64 { return v / (d.Wheelbase + float64(float64(d.UndersteerGradient*v)*v)) }
	fast := max(math.Abs(speed.Low), math.Abs(speed.High))
	if !(d.Wheelbase+float64(float64(d.UndersteerGradient*fast)*fast) > leastDivisor*d.Wheelbase) {
		return measure.Interval{}, false
	}
	low, high := of(speed.Low), of(speed.High)
	i := measure.Interval{Low: min(low, high), High: max(low, high)}
	if l.peak > 0 && speed.Low < l.peak && speed.High > l.peak {
		i.High = max(i.High, of(l.peak))
	}
	if l.peak > 0 && speed.Low < -l.peak && speed.High > -l.peak {
		i.Low = min(i.Low, of(-l.peak))
	}
	return i, true
}

// limited returns a demand within the policy's limits of it.
func limited(p *Demand, d, speed measure.Interval) measure.Interval {
	limit := p.limit(speed)
	return within(d, limit.Low, limit.High)
}

// limit returns the least and the most that the policy limits the size of a demand to, rad/s; infinite
// where it does not.
func (d *Demand) limit(speed measure.Interval) measure.Interval {
	limit := measure.Interval{Low: math.Inf(1), High: math.Inf(1)}
	if d.LateralLimit > 0 {
		v := size(speed)
		limit = measure.Interval{Low: d.LateralLimit / v.High, High: d.LateralLimit / v.Low}
	}
	if d.YawLimit > 0 {
		limit = measure.Interval{Low: min(limit.Low, d.YawLimit), High: min(limit.High, d.YawLimit)}
	}
	return limit
}

// within returns d limited in size to something between least and most.
func within(d measure.Interval, least, most float64) measure.Interval {
	low := min(max(d.Low, -most), least)
	if d.Low < 0 {
		low = max(d.Low, -most)
	}
	high := max(min(d.High, most), -least)
	if d.High > 0 {
		high = min(d.High, most)
	}
	return measure.Interval{Low: low, High: high}
}

// fedForward adds to a demand what the policy feeds forward of the steering. Firmware does so
// before it limits the demand, or after, or only while it is not limited.
func (r *reckoning) fedForward(d, slope, speed measure.Interval) measure.Interval {
	p := r.l.p.Demand
	lead := scaled(r.in.SteerRate, p.SteerRate)
	added := times(slope, lead)
	sum := measure.Interval{Low: d.Low + added.Low, High: d.High + added.High}
	if p.LateralLimit == 0 && p.YawLimit == 0 {
		steer := measure.Interval{Low: r.in.Steer.Low + lead.Low, High: r.in.Steer.High + lead.High}
		return times(slope, steer)
	}
	free := times(slope, r.in.Steer)
	before := limited(p, measure.Interval{Low: free.Low + added.Low, High: free.High + added.High}, speed)
	i := hull(sum, before)
	if size(free).High > p.limit(speed).Low {
		i = hull(i, d)
	}
	return i
}

// times returns the interval of the products of two intervals.
func times(a, b measure.Interval) measure.Interval {
	p, q, r, s := a.Low*b.Low, a.Low*b.High, a.High*b.Low, a.High*b.High
	return measure.Interval{Low: min(p, q, r, s), High: max(p, q, r, s)}
}

// scaled returns i times a factor.
func scaled(i measure.Interval, by float64) measure.Interval {
	low, high := i.Low*by, i.High*by
	return measure.Interval{Low: min(low, high), High: max(low, high)}
}

// hull returns the least interval that holds two.
func hull(a, b measure.Interval) measure.Interval {
	return measure.Interval{Low: min(a.Low, b.Low), High: max(a.High, b.High)}
}
