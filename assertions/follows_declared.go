package assertions

import (
	"math"

	"hilrig/assertions/law"
	"hilrig/assertions/measure"
)

const (
	// steerOpen is what the timing of a receiver pulse and a slack about its centre leave
	// open of the steering, rad; common practice, no source.
	steerOpen = 0.004
	// speedOpen is what encoders leave open of the speed near a threshold, as a share of it.
	speedOpen = 0.2
	// aside is just beside 0, where the branch or the turn changes.
	aside = 1e-9
)

// declaration is what the policy declares for one motor's command.
type declaration struct {
	commands  Limit // the least and the most, tolerance of the size included
	unshifted Limit // the same, were nothing shifted
}

// declared works out what the policy declares for motor i, for every combination of
// the ends of the inputs. Between its changes of branch and turn a command is
// monotone in each input, so that the ends, and either side of the changes, hold
// the least and the most. ok is false where the policy leaves out what one of
// the combinations takes.
func (f *follower) declared(i int, in *inputs) (d declaration, ok bool) {
	d.unshifted = in.allowed(in.throttle.Low, in.throttle.High)
	d.commands = measure.RangeOf()
	var buffer [4][4]float64
	steers := ends(buffer[0][:0], between(in.steer.Low-steerOpen, in.steer.High+steerOpen))
	yaws := ends(buffer[1][:0], in.yaw)
	speeds := ends(buffer[2][:0], in.speed)
	gains := ends(buffer[3][:0], in.gain)
	asked := measure.RangeOf()
	for _, steer := range steers {
		for _, speed := range speeds {
			demand := f.p.Demand.YawRate(speed, steer)
			asked.Include(demand)
			for _, yaw := range yaws {
				for _, gain := range gains {
					if !f.combine(i, in, &d.commands, steer, speed, demand, yaw, gain) {
						return d, false
					}
				}
			}
		}
	}
	if asked.High >= in.yaw.Low && asked.Low <= in.yaw.High { // somewhere it is on demand
		d.commands.Include(d.unshifted.Low, d.unshifted.High)
	}
	return d, true
}

// ends appends the ends of l, and either side of 0 where it lies between.
func ends(dst []float64, l Limit) []float64 {
	dst = append(dst, l.Low)
	if l.High != l.Low {
		dst = append(dst, l.High)
	}
	if l.Low < 0 && l.High > 0 {
		dst = append(dst, -aside, aside)
	}
	return dst
}

// combine widens commands by what the policy declares for one combination.
func (f *follower) combine(i int, in *inputs, commands *Limit, steer, speed, demand, yaw, gain float64) bool {
	signs, known := f.moves(steer, speed, demand, yaw)
	if !known {
		return false
	}
	sign := 0.0
	if signs != nil {
		sign = signs[i]
	}
	still := signs == nil || sign == 0
	if s := f.p.Standstill; s != nil && math.Abs(speed) < s.Full*(1+speedOpen) {
		still = true // or perhaps not, where it is near the threshold
		if math.Abs(speed) < s.From*(1-speedOpen) {
			sign = 0
		}
	}
	if still {
		unshifted := in.allowed(in.throttle.Low, in.throttle.High)
		commands.Include(unshifted.Low, unshifted.High)
	}
	if sign == 0 {
		return true
	}
	size := f.sizes(math.Abs(demand-yaw), gain)
	for _, throttle := range [2]float64{in.throttle.Low, in.throttle.High} {
		f.shift(in, commands, throttle, sign, size, signs)
	}
	return true
}

// moves returns how the motors are shifted; nil where they are not. known is false
// where the policy does not say.
func (f *follower) moves(steer, speed, demand, yaw float64) (signs *[4]float64, known bool) {
	p := f.p
	s := Step{YawRate: yaw, Steer: steer}
	turn := 0
	if s.Turn(p) < 0 {
		turn = 1
	}
	under, over := &f.under[turn], &f.over[turn]
	switch {
	case speed < 0 && p.Reverse == law.ReverseNoShift:
		return nil, true
	case speed < 0:
		return nil, false
	case demand*yaw < 0 && p.OppositeLock == law.OppositeLockNoShift:
		return nil, true
	case demand*yaw < 0 && p.OppositeLock == 0:
		return nil, false
	case demand*yaw >= 0 && math.Abs(yaw) < math.Abs(demand):
		return under, p.Understeer != nil
	}
	return over, p.Oversteer != nil
}

// sizes returns the least and the most that a shift may come to, tolerance
// included, shares of range. With a dead band the declared size may count from 0
// or from the band's edge.
func (f *follower) sizes(yawError, gain float64) Limit {
	at := f.p.ShiftAt
	of := gain / at.Gain * at.Is
	whole := of * yawError / at.Error
	size := measure.RangeOf(whole)
	if band := f.p.DeadBand; band != nil && *band > 0 && at.Error > *band {
		beyond := of * max(yawError-*band, 0) / (at.Error - *band)
		size = measure.RangeOf(whole, beyond)
		if yawError <= *band {
			size = measure.RangeOf(0)
		}
	}
	return between(size.Low*(1-at.Within), size.High*(1+at.Within))
}

// shift widens commands by a motor's command at one throttle, raised or lowered by
// size.
func (f *follower) shift(in *inputs, commands *Limit, throttle, sign float64, size Limit, signs *[4]float64) {
	// Whether its partner comes to a limit, and what then, surely and perhaps.
	if f.p.AtTheLimit != law.LimitCap {
		perhaps, surely := f.doubles(in, sign, size, signs)
		if perhaps {
			size.High *= 2
		}
		if surely && f.p.AtTheLimit == law.LimitMovePartner {
			size.Low *= 2
		}
	}
	// A throttle above the cap is cut before it is shifted, or after.
	for _, base := range [2]float64{throttle, min(throttle, in.highest.Low)} {
		for _, by := range [2]float64{size.Low, size.High} {
			c := base + float64(sign*by)
			shifted := in.allowed(c, c)
			commands.Include(shifted.Low, shifted.High)
		}
	}
}

// doubles says whether, at some throttle or at each that was played, a motor's
// partners come to their limit, so that it moves twice as far.
func (f *follower) doubles(in *inputs, sign float64, size Limit, signs *[4]float64) (perhaps, surely bool) {
	partner := false
	for _, s := range signs {
		partner = partner || s == -sign
	}
	if !partner {
		return false, false
	}
	t := f.e.deadShift()
	if sign < 0 { // its partner is raised
		return in.throttle.High+size.High+t > in.highest.Low, in.throttle.Low+size.Low-t > in.highest.High
	}
	return in.throttle.Low-size.High-t < in.lowest.High, in.throttle.High-size.Low+t < in.lowest.Low
}

// highest returns the highest command allowed: the cap where the steering is, or
// may be, turned. near asks for the least that it may be.
func (f *follower) highest(in *inputs, near bool) float64 {
	c := f.p.Cap
	if c == nil {
		return 1
	}
	far := max(math.Abs(in.steer.Low), math.Abs(in.steer.High))
	closest := 0.0
	if in.steer.Low > 0 || in.steer.High < 0 {
		closest = min(math.Abs(in.steer.Low), math.Abs(in.steer.High))
	}
	if closest-steerOpen > c.SteerAbove || near && far+steerOpen > c.SteerAbove {
		return min(c.Of, 1)
	}
	return 1
}

// lowest returns the lowest command allowed: the floor where the throttle is, or
// may be, above it. near asks for the most that it may be.
func (f *follower) lowest(in *inputs, near bool) float64 {
	l := f.p.Floor
	if l == nil {
		return f.e.Lowest
	}
	t := f.e.CommandStep
	if in.throttle.Low-t >= *l || near && in.throttle.High+t >= *l {
		return max(*l, f.e.Lowest)
	}
	return f.e.Lowest
}

// allowed returns what commands from low to high come to within what is allowed: the least
// and the most.
func (in *inputs) allowed(low, high float64) Limit {
	return between(max(min(low, in.highest.Low), in.lowest.Low), max(min(high, in.highest.High), in.lowest.High))
}
