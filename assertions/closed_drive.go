package assertions

import (
	"math"
	"slices"

	"hilrig/assertions/law"
	"hilrig/assertions/measure"
	"hilrig/plant"
	"hilrig/rig/signal"
	"hilrig/rig/trace"
)

const (
	fewestRows  = 20                       // that a window in closed loop needs
	atRest      = 0.3                      // m/s: below, the car counts as stopped, and its body slip means nothing
	driving     = 0.05                     // share of throttle above which the car is meant to go on
	spinning    = 30.0                     // rad/s: no car that is driven yaws as fast
	before      = 100 * signal.Millisecond // what is read as the state before a step of the steering
	steadySteer = 0.01                     // share of its step by which the steering may still move in the end
)

// drive is a step of a case in closed loop, being measured.
type drive struct {
	e *Evidence
	p *law.Policy
	s *Step
	rows
}

// driveOf returns the rows of a step's window.
func driveOf(e *Evidence, name string) (*drive, error) {
	s, err := e.step(name)
	if err != nil {
		return nil, err
	}
	d := &drive{e: e, p: e.policy(), s: s, rows: e.driven(s.From, s.To)}
	switch {
	case s.From < e.Release:
		err = s.undecided("the window begins before the car was let go at %v; judge a later step", e.Release)
	case d.n() < fewestRows:
		err = s.undecided("the trace holds %d ticks of this step's window, a drive needs %d; %s", d.n(), fewestRows, e.longer())
	case d.held():
		err = s.undecided("the car was not driven by the board's commands in this step; give the case closed: yes")
	}
	return d, err
}

// driven returns the rows of [from, to) in closed loop.
func (e *Evidence) driven(from, to signal.Time) rows {
	return rowsOf(e.Trace, from, to, trace.Speed, trace.YawRate, trace.Steer, trace.Throttle, trace.LateralSpeed,
		trace.Heading, trace.PositionX, trace.PositionY)
}

// held says whether the motion stands still as it does in open loop.
func (d *drive) held() bool {
	for _, c := range []trace.Channel{trace.LateralSpeed, trace.Heading, trace.PositionX, trace.PositionY} {
		if slices.ContainsFunc(d.of(c), func(x float64) bool { return x != 0 }) {
			return false
		}
	}
	return true
}

// finite says whether the drive can be measured at all.
func (d *drive) finite() error {
	for _, c := range []trace.Channel{trace.Speed, trace.YawRate, trace.Steer, trace.LateralSpeed, trace.Heading, trace.PositionX, trace.PositionY} {
		if i := slices.IndexFunc(d.of(c), func(x float64) bool { return !finite(x) }); i >= 0 {
			return d.s.blockedAt(Undecided, d.time(i), "the %s at %v is no finite number: the car's model has lost its way", c, d.time(i))
		}
	}
	return nil
}

// usable says whether the drive is one that a figure can be read from: the board
// commands, and the car neither spins nor comes to rest.
func (d *drive) usable(f figure) error {
	for _, w := range plant.Wheels {
		if len(d.e.frames(w, d.s)) == 0 {
			return d.e.silent(w, d.s)
		}
	}
	if err := d.finite(); err != nil {
		return err
	}
	if err := d.passesThrottle(); err != nil {
		return err
	}
	speed, yaw := d.of(trace.Speed), d.of(trace.YawRate)
	forwards := math.Abs(d.slip(0)) < math.Pi/2
	moving := math.Abs(speed[0]) > atRest
	for i := range speed {
		switch {
		case math.Abs(yaw[i]) > spinning, forwards && math.Abs(d.slip(i)) > math.Pi/2:
			return d.s.blockedAt(Fail, d.time(i), "the car spun at %v, with %s deg of body slip and %s deg/s", d.time(i), degrees(d.slip(i)), degrees(yaw[i]))
		case !moving || d.speed(i) > atRest:
		case measure.Describe(d.of(trace.Throttle)).Mean > driving:
			return d.s.blockedAt(Fail, d.time(i), "the car came to rest at %v although it is asked to drive", d.time(i))
		case f.steps:
			return d.s.blockedAt(Undecided, d.time(i), "the car came to rest at %v; end the window before", d.time(i))
		}
	}
	return nil
}

// passesThrottle says whether the board passes the throttle on at all. A car that only
// coasts through a turn turns well, and proves nothing.
func (d *drive) passesThrottle() error {
	asked := measure.Describe(d.of(trace.Throttle)).Mean
	if !(asked > driving) {
		return nil
	}
	given := 0.0
	for _, w := range plant.Wheels {
		given += measure.Describe(valuesOf(d.e.frames(w, d.s))).Mean / 4
	}
	if given >= asked/2 {
		return nil
	}
	return d.s.fails("the board does not drive: with the throttle at %s its commands come to %s on the mean, and how a car coasts says nothing about the shift", share(asked), share(given))
}

// speed returns how fast the car goes in row i, m/s.
func (d *drive) speed(i int) float64 {
	x, y := d.of(trace.Speed)[i], d.of(trace.LateralSpeed)[i]
	return math.Sqrt(float64(x*x) + float64(y*y))
}

// slip returns the body slip in row i, rad, 0 at rest.
func (d *drive) slip(i int) float64 {
	if d.speed(i) <= atRest {
		return 0
	}
	return math.Atan2(d.of(trace.LateralSpeed)[i], d.of(trace.Speed)[i])
}
