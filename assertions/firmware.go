package assertions

import (
	"hilrig/assertions/law"
)

// firmware is one that keeps the policy, as far as the demand goes: with one factor that its
// demand is out by, and one way of taking the speed. Both stay as they are from one step to the
// next, so that what they change in a baseline and in a step has to go together.
type firmware struct {
	law *law.Law
	// bare is the same without the shift that counts as none, and without steps in its commands.
	bare *law.Law
	// guessed are bare where the policy leaves a branch out, for firmware that there raises motors, and for one
	// that lowers them; nil where it leaves none out.
	guessed []*law.Law
}

// firmwares returns those that bound what the policy leaves open of the demand.
func (e *Evidence) firmwares() (all []firmware) {
	for _, p := range e.demands() {
		all = append(all, e.firmware(p))
	}
	return all
}

// demands returns policies that bound what this one leaves open of the demand, each with a
// demand that it leaves nothing open of.
func (e *Evidence) demands() (all []law.Policy) {
	p := e.policy()
	if p.Demand == nil {
		return []law.Policy{*p}
	}
	takes := []law.SpeedFrom{p.Demand.SpeedFrom}
	if takes[0] == 0 && e.Car != nil {
		takes = []law.SpeedFrom{law.SpeedFromMean, law.SpeedFromSlowest, law.SpeedFromFastest}
	}
	factors := []float64{1}
	if w := p.Demand.Within; w > 0 {
		factors = []float64{1 - w, 1, 1 + w}
	}
	for _, from := range takes {
		for _, f := range factors {
			all = append(all, outBy(p, f, from))
		}
	}
	return all
}

// demandBy returns the demand in a step by a policy, rad/s.
func (e *Evidence) demandBy(p *law.Policy, s *Step) float64 {
	speed := s.Speed
	if e.Car != nil {
		speed = p.Demand.SpeedFrom.Of(e.hubsMeant(s, s.YawRate))
	}
	return p.Demand.YawRate(speed, s.Steer)
}

// hubsMeant returns the speeds in m/s that the four wheels tell in a step at a yaw rate in rad/s: those of their hubs with their slip, or what
// the step has them turn at.
func (e *Evidence) hubsMeant(s *Step, yawRate float64) (all [4]float64) {
	all = Slipping(e.Car.HubSpeeds(s.Speed, yawRate, s.Steer), &s.Slip)
	for i, rate := range s.Wheels {
		if rate != nil {
			all[i] = *rate * e.Car.WheelRadius
		}
	}
	return all
}

// Slipping returns the speeds or rates of wheels that would roll freely at some, and slip by so much each.
func Slipping(free [4]float64, slip *[4]float64) [4]float64 {
	for i := range free {
		free[i] += float64(free[i] * slip[i])
	}
	return free
}

// onDemand returns the yaw rate in rad/s at which the car turns in a step just as a policy demands.
func (e *Evidence) onDemand(p *law.Policy, s *Step) float64 {
	if e.Car == nil {
		return p.Demand.OnDemand(s.Speed, s.Steer, nil)
	}
	return p.Demand.OnDemand(s.Speed, s.Steer, func(yaw float64) [4]float64 { return e.hubsMeant(s, yaw) })
}

// firmware returns the one that keeps a policy.
func (e *Evidence) firmware(p law.Policy) firmware {
	scale := law.Scale{Lowest: e.Lowest, Step: e.CommandStep}
	p.DeadShift = p.DeadShiftFor(e.CommandStep)
	f := firmware{law: law.New(&p, scale)}
	p.DeadShift, p.Resolution, scale.Step = nearNothing, nil, 0
	f.bare = law.New(&p, scale)
	for _, all := range guesses(&p) {
		f.guessed = append(f.guessed, law.New(&all, scale))
	}
	return f
}

// guesses returns policies that bound whom firmware may shift in a branch that a policy leaves out: any motor, by
// up to twice the declared shift.
func guesses(p *law.Policy) (all []law.Policy) {
	if p.Understeer != nil && p.Oversteer != nil {
		return nil
	}
	for _, of := range [...]law.Split{{Raise: law.Places, Varies: true}, {Lower: law.Places, Varies: true}} {
		out := *p
		if out.Understeer == nil {
			out.Understeer = &of
		}
		if out.Oversteer == nil {
			out.Oversteer = &of
		}
		all = append(all, out)
	}
	return all
}

// nearNothing is a shift so small that it is none.
const nearNothing = 1e-12

// outBy returns a policy whose demand is out by a factor, above 0, and goes by a speed.
func outBy(p *law.Policy, factor float64, from law.SpeedFrom) law.Policy {
	out, d := *p, *p.Demand
	if factor > 0 {
		d.Wheelbase /= factor
		d.UndersteerGradient /= factor
		d.LateralLimit *= factor
		d.YawLimit *= factor
	}
	d.Within, d.SpeedFrom = 0, from
	out.Demand = &d
	return out
}

// meant returns the inputs of a step as it is meant, with no word on what the motors are
// commanded with no shift.
func (e *Evidence) meant(s *Step) (in law.Inputs) {
	point := func(x float64) Limit { return between(x, x) }
	in.Steer, in.Speed, in.YawRate, in.Throttle, in.Gain = point(s.Steer), point(s.Speed), point(s.YawRate), point(s.Throttle), point(s.Gain)
	if e.Car != nil {
		in.HasWheels = true
		for i, v := range e.hubsMeant(s, s.YawRate) {
			in.Wheels[i] = point(v)
		}
	}
	in.Unshifted = e.unshiftedAt(s.Throttle)
	in.Stood, in.HasStood = e.Curve.Stands(in.Throttle)
	return in
}
