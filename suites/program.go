package suites

import (
	"hilrig/assertions"
	"hilrig/rig/signal"
	"hilrig/stimulus"
	"hilrig/suites/file"
)

const (
	// rollIn is how long the first step of a case takes to reach its values from
	// those of the rest: a car does not reach 8 m/s at once, and a board may mind.
	rollIn = 100 * signal.Millisecond
	// tail is what is played after the last window, so that the frames that end
	// in it are captured.
	tail = 10 * signal.Millisecond
)

// programOf returns the program of a case, and its steps with their times
// counted from the program's start.
func programOf(c *file.Case, rest stimulus.Values) (*stimulus.Program, []assertions.Step) {
	p := &stimulus.Program{}
	var steps []assertions.Step
	var at signal.Time
	for i := range c.Steps {
		s := &c.Steps[i]
		v := &s.Values
		if i == 0 {
			p.Speed.Hold(0, rest.Speed)
			p.Speed.RampTo(0, rollIn, v.Speed)
			p.YawRate.Hold(0, rest.YawRate)
			p.YawRate.RampTo(0, rollIn, v.YawRate)
		} else {
			p.Speed.Hold(at, v.Speed)
			p.YawRate.Hold(at, v.YawRate)
		}
		p.Steer.Hold(at, v.Steer)
		p.Throttle.Hold(at, v.Throttle)
		p.Gain.Hold(at, v.Gain)
		for w, rate := range v.Wheels {
			if rate != nil {
				if p.Wheels[w] == nil {
					p.Wheels[w] = new(stimulus.Track)
				}
				p.Wheels[w].Hold(at, *rate)
			}
		}
		steps = append(steps, assertions.Step{
			Name: s.Name, Baseline: s.Baseline,
			Applied: at, From: at + s.Settle, To: at + s.Settle + s.Observe,
			Steer: v.Steer, Speed: v.Speed, YawRate: v.YawRate, Demand: v.Demand,
			Throttle: v.Throttle, Gain: v.Gain,
		})
		at += s.Settle + s.Observe
	}
	p.Length = at + tail
	if c.Closed && len(c.Steps) > 0 {
		p.Closed, p.Release = true, c.Steps[0].Settle
	}
	return p, steps
}
