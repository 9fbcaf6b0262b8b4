package law

import (
	"math"

	"hilrig/assertions/measure"
)

// Asked is what the law surely asks of one motor.
type Asked uint8

// What is asked: nothing for sure; no shift; or one by more than what counts as none.
const (
	Undecided Asked = iota
	Unchanged
	Raised
	Lowered
)

var askedNames = [...]string{"open", "unchanged", "raised", "lowered"}

// String returns the word.
func (a Asked) String() string { return askedNames[a] }

// Want is what a policy asks for at inputs, before anything is played.
type Want struct {
	Asks [4]Asked  // of each motor, in the order of plant.Wheels
	Why  [4]string // why nothing is for sure, in words; "" where something is
	// Shifts are what the declared numbers come to as they stand, with no tolerances and no
	// limits, share of range, positive where a motor is raised; 0 where no size is declared.
	Shifts [4]float64
	// Room is what each motor has, from the command without a shift, to the floor (Low) and to the
	// cap (High), share of range, at least 0; the least that it may be.
	Room   [4]measure.Interval
	Answer Answer
}

// Clear says whether it is for sure of each motor what is asked.
func (w *Want) Clear() bool {
	for _, a := range w.Asks {
		if a == Undecided {
			return false
		}
	}
	return true
}

// Wants returns what the policy asks for at inputs: those that are to be played, as points, or with
// what noise and resolution make of them.
func (l *Law) Wants(in *Inputs) Want {
	w := Want{Answer: l.At(in)}
	a := &w.Answer
	w.Shifts = l.declared(in)
	for i := range a.Shifts {
		u := a.Unshifted[i]
		w.Room[i] = measure.Interval{Low: max(u.Low-a.Allowed.Low, 0), High: max(a.Allowed.High-u.High, 0)}
		w.Asks[i], w.Why[i] = l.asks(a, i, w.Shifts[i])
		if wrong := in.wrong(); wrong != "" {
			w.Why[i] = "the " + wrong + " is no number"
		}
	}
	return w
}

// asks returns what is asked of a motor for sure, or why nothing is.
func (l *Law) asks(a *Answer, i int, declared float64) (Asked, string) {
	const rounding = 1e-9
	s, none := a.Shifts[i], l.dead+l.resolution+rounding
	clear := l.dead - l.resolution - rounding // a command may be off
	switch {
	case a.Missing != "":
		return Undecided, "the policy has no " + a.Missing
	case s.Low > 0 && s.Low >= clear:
		return Raised, ""
	case s.High < 0 && s.High <= -clear:
		return Lowered, ""
	case s.Low < -none || s.High > none:
		return Undecided, a.why(i)
	case a.Perhaps[i] && math.Abs(declared) > l.dead:
		return Undecided, noRoom
	}
	return Unchanged, ""
}

const noRoom = "the motor has no room for the shift"

// why returns why it is open what is asked of a motor.
func (a *Answer) why(i int) string {
	switch {
	case a.Open != 0:
		return a.Open.String()
	case a.Perhaps[i]:
		return noRoom
	}
	return "what is asked for may be a shift or none"
}

// declared returns the shifts of the declared numbers at the middles of the inputs.
func (l *Law) declared(in *Inputs) (shifts [4]float64) {
	exact := *l
	exact.dead, exact.resolution = 0, 0
	if d := l.p.Demand; d != nil {
		demand := *d
		demand.Within = 0
		exact.p.Demand = &demand
	}
	if !exact.sized() {
		return shifts
	}
	size := *l.p.ShiftAt
	size.Within, size.Grows = 0, 0
	exact.p.ShiftAt = &size
	exact.p.Cap, exact.p.Floor, exact.p.SumCap, exact.p.TractionControl = nil, nil, nil, nil
	exact.p.AtTheLimit, exact.p.AtTheCap, exact.p.AtTheFloor = LimitCap, 0, 0
	exact.scale = Scale{Lowest: math.Inf(-1)}
	point := *in
	for _, i := range [...]*measure.Interval{&point.Steer, &point.SteerRate, &point.Speed, &point.YawRate, &point.Throttle, &point.Gain,
		&point.Wheels[0], &point.Wheels[1], &point.Wheels[2], &point.Wheels[3]} {
		middle := (i.Low + i.High) / 2
		*i = measure.Interval{Low: middle, High: middle}
	}
	half := measure.Interval{Low: 0.5, High: 0.5}
	point.Unshifted = [4]measure.Interval{half, half, half, half}
	r := reckoning{l: &exact, in: &point, speed: exact.speed(&point)}
	r.begin()
	r.highest = measure.Interval{Low: math.Inf(1), High: math.Inf(1)}
	r.lowest = measure.Interval{Low: math.Inf(-1), High: math.Inf(-1)}
	r.ask()
	if r.a.Missing != "" {
		return shifts
	}
	for i, s := range r.a.Shifts {
		shifts[i] = (s.Low + s.High) / 2
		if most := l.p.ShiftAt.Most; most > 0 && l.p.ShiftAt.Grows > GrowthProportional {
			shifts[i] = min(max(shifts[i], -most), most)
		}
	}
	return shifts
}

// GainFor returns the gain at which the policy asks for a shift, share of range above 0, at a speed in
// m/s, a steer angle in rad and a yaw rate in rad/s: where only some gains are known, as the steps of a switch, the
// least of them that asks for no less. ok is false where no gain up to 1 does, and where the policy declares no
// demand or size.
func (l *Law) GainFor(shift, speed, steer, yaw float64) (gain float64, ok bool) {
	if !l.sized() || l.p.Demand == nil || !(shift > 0) {
		return 0, false
	}
	whole := l.whole(speed, steer, yaw)
	at := l.p.ShiftAt
	if !(whole > 0) || at.Most > 0 && at.Grows > GrowthProportional && shift > at.Most {
		return 0, false
	}
	gain = shift / whole * at.Gain
	for _, step := range l.known {
		if step >= gain {
			return step, step <= 1
		}
	}
	return gain, gain <= 1 && len(l.known) == 0
}

// ShiftFor returns the size of the shift, share of range, that the policy declares for a gain at a speed
// in m/s, a steer angle in rad and a yaw rate in rad/s, before shares of axles and with no tolerance; a
// growing shift at most its bound. ok is false where the policy declares no demand or size.
func (l *Law) ShiftFor(gain, speed, steer, yaw float64) (shift float64, ok bool) {
	if !l.sized() || l.p.Demand == nil {
		return 0, false
	}
	at := l.p.ShiftAt
	g := l.gain(measure.Interval{Low: gain, High: gain})
	shift = l.whole(speed, steer, yaw) * (g.High / at.Gain)
	if at.Most > 0 && at.Grows > GrowthProportional {
		shift = min(shift, at.Most)
	}
	return shift, true
}

// whole returns the declared shift at the declared gain.
func (l *Law) whole(speed, steer, yaw float64) float64 {
	yawError := math.Abs(l.p.Demand.YawRate(speed, steer) - yaw)
	share := l.share(measure.Interval{Low: yawError, High: yawError})
	return l.p.ShiftAt.Is * (share.Low + share.High) / 2
}

// ErrorFor returns the size of the yaw error in rad/s at which the policy asks for a shift, share of range
// above 0, at a gain above 0; ok is false where the policy declares no size, or none so large.
func (l *Law) ErrorFor(shift, gain float64) (yawError float64, ok bool) {
	if !l.sized() || !(gain > 0) || !(shift > 0) {
		return 0, false
	}
	at := l.p.ShiftAt
	if at.Most > 0 && at.Grows > GrowthProportional && shift > at.Most {
		return 0, false
	}
	g := l.gain(measure.Interval{Low: gain, High: gain})
	share := shift / at.Is * (at.Gain / g.Low)
	yawError = share * at.Error
	if b := l.p.DeadBand; b != nil && *b > 0 && at.Error > *b {
		// The middle of a shift that counts from 0 and of one that counts from the band's edge.
		yawError = (share + *b/(2*(at.Error-*b))) / ((1/at.Error + 1/(at.Error-*b)) / 2)
		yawError = max(yawError, *b)
	}
	return yawError, g.Low > 0 && !math.IsInf(yawError, 0)
}

// throttleSteps is how finely a throttle is looked for.
const throttleSteps = 200

// ThrottleWithRoom returns the least and the most throttle, shares of its range, at which each motor
// has that much room, share of range, both to the floor and to the cap with the steering turned, when
// nothing is shifted. c is what the motors are commanded over the throttle; nil: the throttle itself. Where the
// policy leaves out a floor or a cap, there is none, or with anyEnds the one of its kind that leaves least room. ok
// is false where there is no such throttle.
func (l *Law) ThrottleWithRoom(room float64, c *Curve, anyEnds bool) (least, most float64, ok bool) {
	if c == nil {
		c = Identity()
	}
	high := 1.0
	if l.p.Cap != nil {
		high = min(l.p.Cap.Of, 1)
	} else if anyEnds {
		high = leastCap
	}
	for k := range throttleSteps + 1 {
		t := float64(k) / throttleSteps
		low := max(l.scale.Lowest, 0)
		if f := l.p.Floor; f != nil && t >= *f {
			low = max(low, *f)
		} else if f == nil && anyEnds {
			low = max(low, mostFloor)
		}
		if t > nearIdle && l.hasRoom(l.unshifted(c, measure.Interval{Low: t, High: t}), low+room, high-room) {
			if !ok {
				least = t
			}
			most, ok = t, true
		}
	}
	return least, most, ok
}

// hasRoom says whether all commands lie from low to high, and together within the policy's cap of their sum.
func (l *Law) hasRoom(commands [4]measure.Interval, low, high float64) bool {
	const rounding = 1e-9
	sum := 0.0
	for _, u := range commands {
		if u.Low < low-rounding || u.High > high+rounding {
			return false
		}
		sum += u.High
	}
	return l.p.SumCap == nil || sum <= *l.p.SumCap+rounding
}

// SpeedFor returns the lowest speed in m/s at which the demand is that yaw rate in rad/s at a steer angle in
// rad, both to one side; ok is false where there is none, or the policy has no demand.
func (l *Law) SpeedFor(yaw, steer float64) (speed float64, ok bool) {
	d := l.p.Demand
	if d == nil || steer == 0 || !(yaw/steer > 0) {
		return 0, false
	}
	// K r V^2 - delta V + L r = 0, in the form that keeps its digits where K is small.
	k := d.UndersteerGradient
	root := float64(steer*steer) - float64(4*k*yaw*yaw*d.Wheelbase)
	if root < 0 {
		return 0, false
	}
	speed = 2 * d.Wheelbase * math.Abs(yaw) / (math.Abs(steer) + math.Sqrt(root))
	return speed, l.demands(yaw, speed, steer)
}

// SteerFor returns the steer angle in rad at which the demand is that yaw rate in rad/s at a speed in m/s
// above 0; ok is false where the policy has no demand, or limits it to less.
func (l *Law) SteerFor(yaw, speed float64) (steer float64, ok bool) {
	d := l.p.Demand
	if d == nil || !(speed > 0) {
		return 0, false
	}
	steer = yaw * (d.Wheelbase + float64(float64(d.UndersteerGradient*speed)*speed)) / speed
	return steer, l.demands(yaw, speed, steer)
}

// demands says whether the demand, with its limits, comes to that yaw rate.
func (l *Law) demands(yaw, speed, steer float64) bool {
	const rounding = 1e-6
	return math.Abs(l.p.Demand.YawRate(speed, steer)-yaw) <= rounding*(1+math.Abs(yaw))
}
