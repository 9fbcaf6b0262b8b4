package file

import (
	"hilrig/assertions"
	"hilrig/assertions/law"
	"hilrig/rig/signal"
	"hilrig/rig/trace"
	"hilrig/stimulus/wire"
)

// gathering is how long a shift that grows with time is given to come to where it stays, or to
// go again: most such laws are wound up and unwound well within it (common practice, no source).
const gathering = signal.Second

// gatherFor times that is the longest that a motor is given that takes a small share of the shift, for that to be there as well: as
// long as what leaks still comes to more for it; common practice, no source.
const gatherFor = 2.5

// gatheringLittle is how much longer a car is held on demand, where firmware that takes the demand for a little more or less
// gathers a shift by the little that this goes beyond its dead band; common practice, no source.
const gatheringLittle = 3 * signal.Second

// RollIn is how long the first step of a case takes to reach its values from
// those of the rest: a car does not reach 8 m/s at once, and a board may mind.
const RollIn = 100 * signal.Millisecond

// wireFrames is how many frames of the slowest wire go by until what a step holds is whole on it: a
// frame may just have begun, and the next one has to end. How fast it changes is told by one frame more.
const wireFrames = 2

// Settles returns how long a board needs at least, by the policy, until its commands rest on
// what a step holds and on nothing before it; and where a shift may grow with time, until it has grown.
func Settles(p *law.Policy, b *Bench) signal.Time {
	least := forgets(p, b)
	if p.MayIntegrate() {
		share := min(p.Understeer.LeastShare(), p.Oversteer.LeastShare())
		least += signal.Time(min(1/share, gatherFor) * float64(gathering))
	}
	return least
}

// forgets returns how long a board that gathers nothing needs at least, by the policy, until its commands rest on what a step
// holds and on nothing before it: that it is on the wires, the response or the longest gap, a frame
// of the slowest wire, what a filter and a slew limit remember.
func forgets(p *law.Policy, b *Bench) signal.Time {
	var h law.History
	h.Steer.Add(0, 0)
	h.Steer.Add(b.SlowestWire(), 0)
	frames := signal.Time(wireFrames)
	if d := p.Demand; d != nil && d.SteerRate != 0 {
		frames++
	}
	return LawOn(p, b).Horizon(&h) + frames*b.SlowestWire()
}

// SlowestWire returns the longest time from one frame or pulse to the next of all that the board hears.
func (b *Bench) SlowestWire() signal.Time {
	w := &b.Wiring
	slowest := max(w.Steer.Frame, w.Throttle.Frame, w.Gain.Frame)
	if w.Bus.Port != "" {
		slowest = w.Bus.Period
	}
	for i := range w.Frames {
		slowest = max(slowest, w.Frames[i].Period)
	}
	for i := range w.Encoders {
		if w.Encoders[i].Kind == wire.DutyWheel {
			slowest = max(slowest, w.Encoders[i].Duty.Period)
		}
	}
	return slowest
}

// Apart returns how long the wires take from one value to the next.
func (b *Bench) Apart() assertions.Apart {
	w := &b.Wiring
	a := assertions.Apart{Steer: w.Steer.Frame, Slowest: b.SlowestWire()}
	if w.Bus.Port != "" {
		a.Steer = w.Bus.Period
	}
	for i := range w.Frames {
		for _, f := range w.Frames[i].Carrying() {
			if f.Channel == trace.YawRate.String() || f.Channel == trace.Heading.String() {
				a.Yaw = max(a.Yaw, w.Frames[i].Period)
			}
		}
	}
	if a.Yaw == 0 { // a sentence, or a frame that the board asks for
		a.Yaw = a.Slowest
	}
	return a
}

// settle lets the steps of a case that is for cars with any policy settle for as long as
// this policy needs, the first one from when the car has come to what it holds. Steps in which something is wrong with a wire, and what the plant drives, stay
// as they are written.
func (b *caseBuilder) settle(c *Case) {
	if b.car == nil || b.bench == nil || !b.anyPolicy || c.Closed || c.PowerUp {
		return
	}
	least := Settles(&b.car.Policy, b.bench)
	for i := range c.Steps {
		if s := &c.Steps[i]; len(s.Faults) == 0 && len(s.Shapes) == 0 {
			needs := least
			if i == 0 {
				needs += RollIn
			}
			s.Settle = max(s.Settle, needs)
			if b.car.Policy.MayIntegrate() && c.expectsIn(s.Name, i+1 == len(c.Steps), "on_demand") {
				s.Settle = max(s.Settle, needs+gatheringLittle)
			}
		}
		if r := b.car.Policy.Response; r != nil && i+1 < len(c.Steps) && c.expectsIn(c.Steps[i+1].Name, i+2 == len(c.Steps), "no_wind_up") {
			c.Steps[i].Observe = max(c.Steps[i].Observe, heldLong*r.AtMost)
		}
	}
}

// heldLong times the response is how long an error is held for a wind-up to show.
const heldLong = 65

// expectsIn tells whether a case expects a situation in a step.
func (c *Case) expectsIn(step string, last bool, of string) bool {
	for i := range c.Expect {
		if x, ok := c.Expect[i].Check.(assertions.PolicyBranch); ok && x.Of == of && (x.Step == step || x.Step == "" && last) {
			return true
		}
	}
	return false
}
