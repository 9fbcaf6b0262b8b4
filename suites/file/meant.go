package file

import (
	"hilrig/assertions"
	"hilrig/rig/signal"
	"hilrig/stimulus"
)

// Meant returns the step as checks see it when it is played from a time on, without its faults
// and the moments of its trials.
func (s *Step) Meant(at signal.Time) assertions.Step {
	v := &s.Values
	out := assertions.Step{
		Name: s.Name, Baseline: s.Baseline,
		Applied: at, From: at + s.Settle, To: at + s.Settle + s.Observe,
		Steer: v.Steer, Speed: v.Speed, YawRate: v.YawRate, Demand: s.Demand,
		Throttle: v.Throttle, Gain: v.Gain, Wheels: s.Wheels, Slip: s.Slip, Moving: len(s.Shapes) > 0, Calm: s.calm,
	}
	if len(s.Shapes) == 1 {
		if x, ok := s.Shapes[0].Shape.(stimulus.Sine); ok && x.Cycles == 0 {
			out.Swing = &assertions.Swing{Of: s.Shapes[0].Channel, By: x.Amplitude, At: x.Frequency}
		}
	}
	switch {
	case s.Trials != nil:
		out.Changed, out.Levels = s.Trials.Channel, s.Trials.Levels
	case s.Sweep != nil:
		out.Changed, out.Swept, out.Levels = s.Sweep.Channel, true, [2]float64{s.Sweep.From, s.Sweep.To}
	}
	return out
}

// meant returns what the checks of a case are given, as far as it is known before it is
// played: the policy, the car and the steps, and no trace.
func (c *Case) meant(car *Car, bench *Bench) *assertions.Evidence {
	e := &assertions.Evidence{Policy: &car.Policy, Car: &car.Car}
	for _, m := range bench.Wiring.Motors {
		e.CommandStep = max(e.CommandStep, m.CommandStep())
		e.Lowest = min(e.Lowest, m.Lowest())
	}
	e.Apart, e.ThrottleStep = bench.Apart(), bench.Wiring.Bus.Throttle.Finest()
	at := signal.Time(0)
	for i := range c.Steps {
		s := &c.Steps[i]
		out := s.Meant(at)
		out.PowerUp = i == 0 && c.PowerUp
		for j := range s.trialCount() {
			out.Changes = append(out.Changes, out.From+signal.Time(j+1)*s.Trials.Interval)
			out.To = out.Changes[j] + s.Trials.Interval
		}
		for _, f := range s.Faults {
			f.From += at
			f.To += at
			if f.To == at {
				f.To = out.To
			}
			out.Faults = append(out.Faults, f)
		}
		e.Steps = append(e.Steps, out)
		at = out.To
	}
	return e
}

// trialCount returns how many trials a step has.
func (s *Step) trialCount() int {
	if s.Trials == nil {
		return 0
	}
	return s.Trials.Count
}
