package suites

import (
	"math"
	"slices"

	"hilrig/assertions/law"
	"hilrig/assertions/measure"
	"hilrig/rig/signal"
	"hilrig/rig/trace"
	"hilrig/stimulus"
	"hilrig/stimulus/wire"
	"hilrig/suites/file"
	"hilrig/suites/report/compare"
)

// timerTick is how finely a board's timer reads a receiver's pulse: a count of microseconds; common
// practice, no source.
const timerTick = signal.Microsecond

// Known returns what is known of what the setup plays, for a comparison of two records of it.
func (s *Setup) Known() *compare.Known {
	known := &compare.Known{Reading: s.reading, Closed: s.closed, Moving: s.moving()}
	for i := range s.wiring.Motors {
		known.CommandStep = max(known.CommandStep, s.wiring.Motors[i].CommandStep())
	}
	if r := s.Car.Policy.Response; r != nil {
		known.Response = r.AtMost.Seconds() * 1000
	}
	return known
}

// caseAt returns the case at a place in the plan, nil where there is none.
func (s *Setup) caseAt(at compare.Place) *file.Case {
	if at.Suite < 0 || at.Suite >= len(s.Suites) || at.Index < 0 || at.Index >= len(s.Suites[at.Suite].Cases) {
		return nil
	}
	return &s.Suites[at.Suite].Cases[at.Index]
}

// closed says whether the board drives the car in a case.
func (s *Setup) closed(at compare.Place) bool {
	c := s.caseAt(at)
	return c != nil && c.Closed
}

// reading returns what the board may read differently from one run to the next in a step of a
// case, of all its steps the most where none is named or that name is none of a step. A shift is
// counted from a baseline, in which the board takes the same pulses for another demand too.
func (s *Setup) reading(at compare.Place, step string) compare.Reading {
	c := s.caseAt(at)
	if c == nil {
		return compare.Reading{Shift: math.NaN(), Throttle: math.NaN(), Demand: math.NaN()}
	}
	l := s.exactLaw()
	named := slices.ContainsFunc(c.Steps, func(x file.Step) bool { return x.Name == step })
	var most, base compare.Reading
	for i := range c.Steps {
		x := &c.Steps[i]
		if x.Baseline {
			base.Include(s.readingIn(l, x))
		}
		if !named || x.Name == step {
			most.Include(s.readingIn(l, x))
		}
	}
	most.Shift += base.Shift
	return most
}

// readingIn returns the same of one step by itself.
func (s *Setup) readingIn(l *law.Law, x *file.Step) (most compare.Reading) {
	for _, v := range valuesIn(x) {
		most.Include(s.readingAt(l, v))
	}
	return most
}

// exactLaw returns the law of the car's policy without steps in the commands.
func (s *Setup) exactLaw() *law.Law {
	scale := law.Scale{}
	for i := range s.wiring.Motors {
		scale.Lowest = min(scale.Lowest, s.wiring.Motors[i].Lowest())
	}
	return law.New(&s.Car.Policy, scale)
}

// momentsInStep is at how many moments of a step its values are taken where they move.
const momentsInStep = 16

// valuesIn returns the values of a step: those it is held at, and what moves at some moments.
func valuesIn(step *file.Step) []stimulus.Values {
	all := []stimulus.Values{step.Values}
	if t := step.Trials; t != nil {
		for _, x := range t.Levels {
			all = append(all, valuesWith(step.Values, t.Channel, x))
		}
	}
	if w := step.Sweep; w != nil {
		all = append(all, valuesWith(step.Values, w.Channel, w.From), valuesWith(step.Values, w.Channel, w.To))
	}
	if len(step.Shapes) > 0 {
		for i := range momentsInStep {
			v := step.Values
			for _, m := range step.Shapes {
				v = valuesWith(v, m.Channel, m.Shape.At((step.Settle+step.Observe)*signal.Time(i)/(momentsInStep-1)))
			}
			all = append(all, v)
		}
	}
	return all
}

// readingAt returns what a pulse that is read one tick longer makes of what the policy asks for at some values. It
// is not a number where the policy does not say how large a shift is, or has no demand.
func (s *Setup) readingAt(l *law.Law, v stimulus.Values) (r compare.Reading) {
	if s.wiring.Bus.Port != "" {
		return r // a bus carries counts
	}
	steer, gain := perTick(&s.wiring.Steer), perTick(&s.wiring.Gain)
	r.Throttle = perTick(&s.wiring.Throttle)
	wants := s.wants(l, v)
	if p := &s.Car.Policy; p.ShiftAt == nil || p.Demand == nil {
		r.Shift, r.Demand = math.NaN(), math.NaN()
		return r
	}
	steered, trimmed := v, v
	steered.Steer += steer
	trimmed.Gain = min(trimmed.Gain+gain, 1)
	bySteer, byGain := s.wants(l, steered), s.wants(l, trimmed)
	for w := range wants {
		r.Shift = max(r.Shift, math.Abs(bySteer[w]-wants[w])+math.Abs(byGain[w]-wants[w]))
	}
	if demand := s.demand(v.Speed, v.Steer); demand != 0 {
		r.Demand = math.Abs(s.demand(v.Speed, steered.Steer)/demand - 1)
	}
	return r
}

// wants returns the shifts that the policy asks for at some values.
func (s *Setup) wants(l *law.Law, v stimulus.Values) [4]float64 {
	in := l.Inputs(law.Point{Steer: v.Steer, Speed: v.Speed, YawRate: v.YawRate, Throttle: v.Throttle, Gain: v.Gain}, nil)
	in.HasWheels = true
	for i, hub := range s.Car.Car.HubSpeeds(v.Speed, v.YawRate, v.Steer) {
		in.Wheels[i] = measure.Interval{Low: hub, High: hub}
	}
	want := l.Wants(&in)
	return want.Shifts
}

// moving returns how far the policy has each shift go over all combinations of the ends of what is played, in a function as a
// comparison wants it. It is not a number where the policy does not say how large a shift is, or has no demand.
func (s *Setup) moving() func(low, high stimulus.Values) [4]float64 {
	l := s.exactLaw()
	return func(low, high stimulus.Values) (reach [4]float64) {
		if p := &s.Car.Policy; p.ShiftAt == nil || p.Demand == nil {
			return [4]float64{math.NaN(), math.NaN(), math.NaN(), math.NaN()}
		}
		var least, most [4]float64
		for n := range 1 << 4 {
			v := low
			for bit, end := range [...]struct {
				to *float64
				of float64
			}{{&v.Speed, high.Speed}, {&v.YawRate, high.YawRate}, {&v.Steer, high.Steer}, {&v.Gain, high.Gain}} {
				if n&(1<<bit) != 0 {
					*end.to = end.of
				}
			}
			for w, shift := range s.wants(l, v) {
				if n == 0 {
					least[w], most[w] = shift, shift
				}
				least[w], most[w] = min(least[w], shift), max(most[w], shift)
			}
		}
		for w := range reach {
			reach[w] = most[w] - least[w]
		}
		return reach
	}
}

// perTick returns by how much a channel changes with a pulse that is one tick of a timer longer.
func perTick(p *wire.Pulse) float64 {
	if p.High == p.Low {
		return 0
	}
	return math.Abs((p.HighValue - p.LowValue) * timerTick.Seconds() / (p.High - p.Low).Seconds())
}

// valuesWith returns values with one channel at x.
func valuesWith(v stimulus.Values, c trace.Channel, x float64) stimulus.Values {
	if at := file.ValueOf(&v, c); at != nil {
		*at = x
	}
	return v
}
