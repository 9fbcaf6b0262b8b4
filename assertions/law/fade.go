package law

import (
	"math"

	"hilrig/assertions/measure"
)

const (
	// nearSteer is what the timing of a receiver pulse and a slack about its centre leave
	// open of where a threshold of the steering lies, rad; common practice, no source.
	nearSteer = 0.004
	// nearSpeed is what encoders, which give few edges at low speed, leave open of where a
	// threshold of the speed lies, or of by how much one wheel is faster than another, as a
	// share of it; common practice, no source.
	nearSpeed = 0.2
	// readingOff is by what share of it a single reading of a wheel's speed may be off where the speed that firmware takes
	// may be: of two wheels that hardly differ one may be read as faster than traction control lets it be. Common
	// practice, no source.
	readingOff = 0.05
	// fewEdges is the speed in m/s of a wheel below which the readings of its encoder are too few to
	// be held against another's: one edge in 10 ms is 0.3 m/s where a turn of 0.34 m has about 100 edges.
	// Common practice, no source.
	fewEdges = 0.3
	// nearIdle is the throttle up to which it may count as idle, where firmware may leave
	// all motors alone; common practice, no source.
	nearIdle = 0.02
)

// fade returns how much of the shift there may be, none (0) to all (1), at sizes of what it
// comes in with: below its beginning none, from its end on all, between anything.
func (f *Fade) fade(x measure.Interval) measure.Interval {
	i := measure.Interval{Low: 1, High: 1}
	if x.Low < f.Full {
		i.Low = 0
	}
	if x.High < f.From {
		i.High = 0
	}
	return i
}

// rolling returns how much of the shift there may be at a speed.
func (l *Law) rolling(speed measure.Interval) measure.Interval {
	v := size(speed)
	if l.p.Standstill == nil {
		return mostStanding.fade(v)
	}
	near := Fade{From: l.p.Standstill.From * (1 - nearSpeed), Full: l.p.Standstill.Full * (1 + nearSpeed)}
	return near.fade(v)
}

// mostStanding is up to what speed in m/s firmware may hold the shift back of whose policy does not say
// where the car counts as standing; common practice, no source.
var mostStanding = Fade{Full: 1}

// mostStraight is up to what steer angle and demand firmware may hold the shift back of whose policy
// does not say; common practice, no source.
var mostStraight = Straight{Steer: &Fade{Full: 4 * degree}, Demand: &Fade{Full: 25 * degree}}

const degree = math.Pi / 180

// StraightOn returns where there may be no shift since the car goes nearly straight on: what the policy
// declares, or where it says nothing of that what firmware may have. It is nil where there is no such place.
func (p *Policy) StraightOn() *Straight {
	if p.Straight == nil && p.Unsaid&UnsaidStraight != 0 {
		return &mostStraight
	}
	return p.Straight
}

// turning returns how much of the shift there may be with the wheels nearly straight, at
// a demand.
func (r *reckoning) turning(demand measure.Interval) measure.Interval {
	i := measure.Interval{Low: 1, High: 1}
	s := r.l.p.StraightOn()
	if s == nil {
		return i
	}
	if f := s.Steer; f != nil && f.Full > 0 {
		near := Fade{From: f.From - nearSteer, Full: f.Full + nearSteer}
		i = both(i, near.fade(size(r.in.Steer)))
	}
	if f := s.Demand; f != nil {
		i = both(i, f.fade(size(demand)))
	}
	return i
}

// both returns how much of a shift two fades leave.
func both(a, b measure.Interval) measure.Interval {
	return measure.Interval{Low: a.Low * b.Low, High: a.High * b.High}
}

// driving returns how much of the shift there may be by the throttle: none while it brakes, where the
// policy says so; near idle all or none.
func (r *reckoning) driving() measure.Interval {
	i := measure.Interval{Low: 1, High: 1}
	t := r.in.Throttle
	if r.l.p.Braking == BrakingNoShift && t.Low < 0 {
		i.Low = 0
		if t.High < 0 {
			i.High = 0
		}
		r.open(i, NearBraking)
	}
	if t.Low <= nearIdle {
		i.Low = 0
		r.open(i, NearIdle)
	}
	return i
}
