package law

import (
	"math"

	"hilrig/assertions/measure"
)

// Scale is what the motor commands are counted in.
type Scale struct {
	Lowest float64 // the lowest command that a motor can be sent, share of range: 0, or -1 where there is a neutral
	Step   float64 // the least difference between two commands, share of range, at least 0
}

// Inputs are what the law goes by, each from the least to the most that it may be. ISO 8855
// signs, SI units; shares of range.
type Inputs struct {
	Steer     measure.Interval // mean wheel angle, rad
	SteerRate measure.Interval // its derivative, rad/s
	Speed     measure.Interval // of the car, m/s, negative backwards
	YawRate   measure.Interval // rad/s
	Throttle  measure.Interval // share of its range, negative where it brakes
	Gain      measure.Interval // share of the trim's range

	// Wheels are the speeds of the four hubs along their wheels, m/s, in the order of
	// plant.Wheels. They count where HasWheels says so; else every wheel goes at Speed.
	Wheels    [4]measure.Interval
	HasWheels bool
	// Silent are the wheels whose sensors tell nothing: firmware may read them as standing.
	Silent [4]bool

	// Derivative is how many times what the yaw error moves by within these inputs a derivative of it may add to it, at least 0.
	Derivative float64

	// SpeedOpen is by what share of it the speed that the firmware takes may be off, at least 0.
	SpeedOpen float64

	// Unshifted is what each motor is commanded with no shift, share of range, before cap and
	// floor: what was read from the motors, or what [Law.FromThrottle] returns.
	Unshifted [4]measure.Interval
	// Stood is between what the motors stood where a curve of commands over the throttle was measured nearest to Throttle, share
	// of range, which a floor or a cap may have kept from where Unshifted says; it counts where HasStood says so.
	Stood    [4]measure.Interval
	HasStood bool
}

// Answer is what the law says of the four motors, in the order of plant.Wheels.
type Answer struct {
	Commands  [4]measure.Interval // from the least to the most that may be commanded, share of range
	Unshifted [4]measure.Interval // the same, were nothing shifted
	Shifts    [4]measure.Interval // by how much a command may differ from the same motor's with no shift
	Sum       measure.Interval    // of the four commands, in ranges of one motor
	// Allowed reaches from the lowest command that may be sent to the highest: from the floor
	// to the cap where those hold, else between the ends of the range.
	Allowed measure.Interval
	// Lowest and Highest are what those two may be: each one value where the policy says which.
	Lowest, Highest measure.Interval
	Perhaps         [4]bool // something of what may be commanded stands at a cap, a floor or an end of the range
	Surely          [4]bool // all of it does
	Past            [4]bool // the shift that is asked for would for sure take it past its limit, wherever it then stands
	// Missing is the key of the policy without which the law says nothing but that commands
	// lie within Allowed, or the input that is no number; "": it says.
	Missing string
	Branch  Branch
	Open    Reasons // why a shift may be there or not; 0 where there is none, or one is for sure
}

// Law is a policy, ready to be asked. It does not change, and is safe for concurrent use.
type Law struct {
	p          Policy
	scale      Scale
	dead       float64     // shift that counts as none
	resolution float64     // by how much a command may be off
	known      []float64   // the gains at which the policy says what the trim is taken for; empty: all
	peak       float64     // speed of the highest demand at one steer angle, m/s; 0: there is none
	moves      [2][2]moves // by branch (understeer, oversteer) and by side (left, right)
	shown      bool        // a shift of which no size is declared comes to more than what counts as none
	eitherSign bool        // backwards the firmware may take its speed with a sign or without
	turned     sides       // where the policy leaves that open, the firmware takes the car to turn there; 0: it is open
}

// Shown returns the law of a firmware that does shift, by more than what counts as none, wherever the policy
// asks for a shift and declares no size that surely is one: what of it grows with time has grown. Motors whose shares
// go with something may stay.
func (l *Law) Shown() *Law {
	out := *l
	out.shown = true
	return &out
}

// EitherSign returns the law of a firmware that, rolling backwards, may take its speed with a sign or without. It holds more
// than the law itself, which goes by a speed with its sign.
func (l *Law) EitherSign() *Law {
	out := *l
	out.eitherSign = true
	return &out
}

// New makes a law of a policy, which it copies. A nil policy declares nothing.
func New(p *Policy, s Scale) *Law {
	if p == nil {
		p = &Policy{}
	}
	l := &Law{p: *p, scale: s, dead: p.DeadShiftFor(s.Step), resolution: s.Step, known: p.KnownGains()}
	if p.Resolution != nil {
		l.resolution = max(l.resolution, *p.Resolution)
	}
	if d := p.Demand; d != nil && d.UndersteerGradient > 0 {
		l.peak = math.Sqrt(d.Wheelbase / d.UndersteerGradient)
	}
	for of, split := range [2]*Split{p.Understeer, p.Oversteer} {
		l.moves[of] = movesOf(split)
	}
	return l
}

// Turned returns the law of a firmware that takes the car to turn left (+1) or right (-1) wherever the policy leaves
// open which side is the outside; of 0, the law itself.
func (l *Law) Turned(turn int) *Law {
	out := *l
	switch {
	case turn > 0:
		out.turned = toTheLeft
	case turn < 0:
		out.turned = toTheRight
	default:
		return l
	}
	return &out
}

// At returns what the law says of inputs that have been what they are for as long as the
// board looks back. It allocates nothing.
func (l *Law) At(in *Inputs) Answer {
	r := reckoning{l: l, in: in, speed: l.speed(in)}
	r.begin()
	if r.a.Missing == "" {
		r.ask()
	}
	r.end()
	return r.a
}

// reckoning is one answer being worked out.
type reckoning struct {
	l               *Law
	in              *Inputs
	speed           measure.Interval // that the firmware takes, m/s
	yaw             measure.Interval // the same, rad/s
	lowest, highest measure.Interval // what the lowest and the highest command allowed may be
	base            [4]measure.Interval
	a               Answer
	branches        [Open]bool // those that it may be
}

// begin works out what holds whatever is shifted.
func (r *reckoning) begin() {
	r.a.Missing = r.in.wrong()
	r.yaw = withZero(r.in.YawRate)
	r.limits()
	r.a.Allowed = measure.Interval{Low: r.lowest.Low, High: r.highest.High}
	r.a.Lowest, r.a.Highest = r.lowest, r.highest
	nothing := measure.RangeOf()
	for i, u := range r.in.Unshifted {
		r.base[i] = r.cut(u)
		r.a.Unshifted[i] = r.allowed(u)
		r.a.Commands[i], r.a.Shifts[i] = nothing, nothing
		r.a.Surely[i], r.a.Past[i] = true, true
	}
}

// wrong returns the name of an input that is no interval, "" where all are.
func (in *Inputs) wrong() string {
	switch {
	case !(in.Steer.Low <= in.Steer.High):
		return "steer"
	case !(in.SteerRate.Low <= in.SteerRate.High):
		return "steer rate"
	case !(in.Speed.Low <= in.Speed.High):
		return "speed"
	case !(in.YawRate.Low <= in.YawRate.High):
		return "yaw rate"
	case !(in.Throttle.Low <= in.Throttle.High):
		return "throttle"
	case !(in.Gain.Low <= in.Gain.High):
		return "gain"
	}
	for i := range in.Unshifted {
		switch {
		case in.HasWheels && !(in.Wheels[i].Low <= in.Wheels[i].High):
			return "wheels"
		case !(in.Unshifted[i].Low <= in.Unshifted[i].High):
			return "unshifted"
		}
	}
	return ""
}

// unlimited notes that a motor may stand at a limit, and for nothing that was asked for has to.
func (a *Answer) unlimited(i int) { a.Perhaps[i], a.Surely[i], a.Past[i] = true, false, false }

// missing notes that the law cannot say, for want of a key.
func (r *reckoning) missing(key string) {
	if r.a.Missing == "" {
		r.a.Missing = key
	}
}

// end brings in what goes on top of the shifts.
func (r *reckoning) end() {
	r.a.Branch = r.branch()
	for i := range r.a.Commands {
		if c := &r.a.Commands[i]; r.a.Missing != "" || !(c.Low <= c.High) {
			*c = r.a.Allowed
			u := r.a.Unshifted[i]
			r.a.Shifts[i] = measure.Interval{Low: c.Low - u.High, High: c.High - u.Low}
			r.a.unlimited(i)
		}
	}
	r.sumCap()
	r.tractionControl()
	off, step := r.l.resolution, r.l.scale.Step
	for i := range r.a.Commands {
		c, s := &r.a.Commands[i], &r.a.Shifts[i]
		c.Low = max(c.Low-off, min(r.lowest.Low-step, c.Low), r.l.scale.Lowest)
		c.High = min(c.High+off, max(r.highest.High+step, c.High), 1)
		s.Low, s.High = s.Low-off, s.High+off
	}
	r.sum()
}

// Point is one moment's inputs. ISO 8855 signs, SI units; shares of range.
type Point struct {
	Steer, SteerRate, Speed, YawRate, Throttle, Gain float64

	// Track is the distance between left and right wheels, m: above 0, the wheels go at what the
	// yaw rate makes of the speed there; 0: all go at Speed.
	Track float64
}

// Inputs returns a point as inputs. c is what the motors are commanded over the throttle with no shift; nil:
// what the policy says of that.
func (l *Law) Inputs(x Point, c *Curve) Inputs {
	exactly := func(x float64) measure.Interval { return measure.Interval{Low: x, High: x} }
	in := Inputs{
		Steer: exactly(x.Steer), SteerRate: exactly(x.SteerRate), Speed: exactly(x.Speed), YawRate: exactly(x.YawRate),
		Throttle: exactly(x.Throttle), Gain: exactly(x.Gain), HasWheels: x.Track > 0,
	}
	left, right := x.Speed-float64(x.YawRate*x.Track)/2, x.Speed+float64(x.YawRate*x.Track)/2
	in.Wheels = [4]measure.Interval{exactly(left), exactly(right), exactly(left), exactly(right)}
	in.Unshifted = l.unshifted(c, in.Throttle)
	in.Stood, in.HasStood = c.Stands(in.Throttle)
	return in
}
