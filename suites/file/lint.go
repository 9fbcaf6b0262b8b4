package file

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"hilrig/assertions"
	"hilrig/assertions/law"
	"hilrig/assertions/measure"
	"hilrig/rig/signal"
	"hilrig/rig/trace"
	"hilrig/stimulus"
	"hilrig/stimulus/wire"
	"hilrig/suites/language"
)

// Lint returns what is odd about a suite that can be played: values that no car
// could have on its ground, commands too near a limit for a shift to show, too
// few trials, shapes that are cut off, columns of a drive log that are not played.
// None of it keeps the suite from being played. car and bench are those that it
// was read with.
func Lint(s *Suite, car *Car, bench *Bench) language.Warnings {
	p := newSuiteChecker(s, car, bench)
	for i := range s.Cases {
		c := &s.Cases[i]
		if c.PowerUp && bench.Board.Reset == "none" {
			p.at(c.Place, language.Warning, fmt.Sprintf("case %q restarts the board, and the bench says reset: none", language.Brief(c.Name)), "on a real bench it cannot be played; add reset: line or relay to the bench file")
		}
		for j := range c.Steps {
			step := &c.Steps[j]
			p.cutOff(step)
			if !c.Closed && !s.AnyPolicy { // what has no room is not asked there
				p.headRoom(c, step)
			}
			p.spikes(step)
		}
		p.trials(c)
	}
	if !s.AnyPolicy { // one that is for any car has to be borne
		p.grip()
		p.steered()
	}
	all := append(language.Warnings(p.told()), s.notes...)
	slices.SortStableFunc(all, func(a, b language.Problem) int {
		return cmp.Or(cmp.Compare(a.File, b.File), cmp.Compare(a.Line, b.Line), cmp.Compare(a.Column, b.Column))
	})
	return all
}

// grip warns of speed times yaw rate beyond the grip of the car's tyres: once for a suite, at the step that is worst, with
// how many of its cases are.
func (p *suiteChecker) grip() {
	limit := p.car.Car.Tyre.LateralMu * standardGravity
	most, worst, cases := limit, (*Step)(nil), map[language.Place]bool{}
	for i := range p.suite.Cases {
		c := &p.suite.Cases[i]
		for j := range c.Steps {
			s := &c.Steps[j]
			if c.Closed || s.Baseline {
				continue
			}
			x := s.lateral()
			if x > limit {
				cases[c.Place] = true
			}
			if x > most {
				most, worst = x, s
			}
		}
	}
	if worst == nil {
		return
	}
	also := ""
	switch n := len(cases) - 1; {
	case n == 1:
		also = "; in one other case it is beyond that too"
	case n > 1:
		also = fmt.Sprintf("; in %d other cases it is beyond that too", n)
	}
	p.at(worst.Place, language.Warning, fmt.Sprintf("speed times yaw rate goes up to %s, more than the grip of the car's tyres, %s%s", language.Acceleration.Format(most), language.Acceleration.Format(limit), also),
		"play a lower speed or steer angle, unless the board has to bear it")
}

// steered warns of the steer angle that lies farthest beyond the car's steering table: no pulse was measured for it,
// and the straight line that the pulses are computed by need not go on there.
func (p *suiteChecker) steered() {
	low, high := 0.0, 0.0
	for _, at := range p.car.Car.Steering.Points {
		mean := (at.Left + at.Right) / 2
		low, high = min(low, mean), max(high, mean)
	}
	const near = 0.02 // rad by which the line may lie off its own table: common practice, no source
	farthest, beyond, worst := 0.0, near, (*Step)(nil)
	for i := range p.suite.Cases {
		for j := range p.suite.Cases[i].Steps {
			s := &p.suite.Cases[i].Steps[j]
			least, most := s.span(trace.Steer)
			if off := max(low-least, most-high); !s.Baseline && off > beyond {
				farthest, beyond, worst = max(-least, most), off, s
			}
		}
	}
	if worst != nil {
		p.at(worst.Place, language.Warning, fmt.Sprintf("a steer angle of %s lies beyond the steering table in %s, which goes from %s to %s: no pulse was measured for it", language.Angle.Format(farthest), p.car.Source.Path,
			language.Angle.Format(low), language.Angle.Format(high)), "play less, or add a row to the table that was measured there")
	}
}

// looks is at how many moments of a step moving values are looked at.
const looks = 500

// lateral returns the largest product of speed and yaw rate in a step, m/s^2.
func (s *Step) lateral() float64 {
	speed, yaw := s.way(trace.Speed), s.way(trace.YawRate)
	n, length := signal.Time(looks), s.Settle+s.Observe
	if len(s.Shapes) == 0 {
		n = 1
	}
	most := 0.0
	for i := range n + 1 {
		at := length / n * i
		most = max(most, math.Abs(speed.At(at)*yaw.At(at)))
	}
	return most
}

// way returns how a played channel goes in a step: as it moves furthest from 0
// where it is swept or tried.
func (s *Step) way(c trace.Channel) stimulus.Shape {
	for _, m := range s.Shapes {
		if m.Channel == c {
			return m.Shape
		}
	}
	low, high := s.span(c)
	if -low > high {
		return stimulus.Hold(low)
	}
	return stimulus.Hold(high)
}

// roundedOff is what sums leave of a share that is one.
const roundedOff = 1e-9

// notIdle is a throttle at which no firmware leaves its motors alone for it being idle.
const notIdle = 0.1

// headRoom warns of a shift that would not fit between floor and cap in a case
// that does not test them.
func (p *suiteChecker) headRoom(c *Case, s *Step) {
	policy := &p.car.Policy
	if s.Baseline || policy.ShiftAt == nil || policy.Demand == nil || len(s.Shapes) > 0 || len(s.Faults) > 0 || !testsShift(c) {
		return
	}
	scale, throttle := law.Scale{}, s.Values.Throttle
	l := law.New(policy, scale)
	most, between := 0.0, measure.Interval{}
	s.corners(func(speed, steer, yaw float64) {
		in := l.Inputs(law.Point{Steer: steer, Speed: speed, YawRate: yaw, Throttle: throttle, Gain: s.Values.Gain}, law.Identity())
		in.Throttle = measure.Interval{Low: max(throttle, notIdle), High: max(throttle, notIdle)}
		want := l.Wants(&in)
		for i, shift := range want.Shifts {
			if room := want.Room[i]; (shift > room.High+roundedOff || -shift > room.Low+roundedOff) && math.Abs(shift) > most {
				most, between = math.Abs(shift), want.Answer.Allowed
			}
		}
	})
	if most > 0 {
		p.at(s.Place, language.Warning, fmt.Sprintf("a shift of %s about a throttle of %s does not fit between %s and %s", language.Share.Format(most), language.Share.Format(throttle), language.Share.Format(between.Low), language.Share.Format(between.High)),
			"play a smaller yaw error or gain, or test the limit with policy: at_the_limit")
	}
}

// testsShift tells whether a case looks at shifts and not at limits.
func testsShift(c *Case) bool {
	shifts := false
	for _, x := range c.Expect {
		switch check := x.Check.(type) {
		case assertions.PolicyBranch:
			switch check.Of {
			case "cap", "floor", "at_the_limit", "no_wrap", "no_wind_up":
				return false
			case "understeer", "oversteer", "opposite_lock", "proportional", "demand":
				shifts = true
			}
		case assertions.Shifted, assertions.SumKept, assertions.Scaled, assertions.Mirrored, assertions.Proportional:
			shifts = true
		case assertions.InRange:
			return false
		}
	}
	return shifts
}

// enoughTrials is what the response's quantile takes.
const enoughTrials = 200

// trials warns of a response that is judged over too few trials.
func (p *suiteChecker) trials(c *Case) {
	for _, x := range c.Expect {
		check, ok := x.Check.(assertions.PolicyBranch)
		if !ok || check.Of != "response" {
			continue
		}
		for i := range c.Steps {
			s := &c.Steps[i]
			if s.Name != check.Step && (check.Step != "" || i < len(c.Steps)-1) {
				continue
			}
			switch {
			case s.Trials == nil:
				p.at(x.Place, language.Warning, "the response is judged over trials, and its step has none", "add trials: {yaw_rate: [100 % of demand, 70 % of demand]}")
			case s.Trials.Count < enoughTrials:
				p.at(x.Place, language.Warning, fmt.Sprintf("the response is judged over %d trials", s.Trials.Count), fmt.Sprintf("play at least %d", enoughTrials))
			}
		}
	}
}

// cutOff warns of a shape that the step ends before.
func (p *suiteChecker) cutOff(s *Step) {
	length := s.Settle + s.Observe
	if s.Trials != nil {
		return
	}
	for _, m := range s.Shapes {
		if end := endOf(m.Shape); end > length {
			p.at(s.Place, language.Warning, fmt.Sprintf("the shape of %s takes %s, and the step is over after %s", m.Channel, span(end), span(length)), "lengthen settle or observe")
		}
	}
}

// endOf returns when a shape is at its end, 0 for one without.
func endOf(shape stimulus.Shape) signal.Time {
	switch s := shape.(type) {
	case stimulus.Ramp:
		return s.Over
	case stimulus.Step:
		return s.When
	case stimulus.Sine:
		return signal.FromSeconds(s.Cycles / s.Frequency)
	case stimulus.Chirp:
		return s.Over
	case stimulus.SineWithDwell:
		return signal.FromSeconds(1/s.Frequency) + s.Dwell
	case stimulus.Table:
		return s.Times[len(s.Times)-1]
	}
	return 0
}

// spikes warns of a spike that its sensor's field would clip.
func (p *suiteChecker) spikes(s *Step) {
	for _, f := range s.Faults {
		if f.Kind != stimulus.Spike {
			continue
		}
		field := p.carrying(f.Wire, f.Channel)
		if field == nil {
			continue
		}
		c, _ := trace.ChannelNamed(field.Channel)
		low, high := s.span(c)
		least, most := limits(field)
		if high+max(f.By, 0) > most || low+min(f.By, 0) < least {
			q, _ := channelQuantity(c)
			p.at(s.Place, language.Warning, fmt.Sprintf("a spike of %s on %s is clipped by its field", q.Format(f.By), f.Wire), fmt.Sprintf("the field holds %s to %s", q.Format(least), q.Format(most)))
		}
	}
}

// carrying returns the first field on a port that carries a channel, that of the
// given name, "" for any; nil where there is none.
func (p *suiteChecker) carrying(port, channel string) *wire.Field {
	for i := range p.bench.Wiring.Frames {
		f := &p.bench.Wiring.Frames[i]
		if f.Port != port {
			continue
		}
		for _, one := range f.Carrying() {
			if channel == "" || one.Channel == channel {
				return one
			}
		}
	}
	return nil
}

// LintCar returns what is odd about a car that can be played: numbers that no car of its size has, and that its policy has the
// firmware work out the demand of a car with another wheelbase, by more than the
// demand's own within. It may be meant, for firmware that was built for another car. The
// wheelbase is all that a car and its policy both say.
func LintCar(c *Car) language.Warnings {
	odd := c.implausible()
	d := c.Policy.Demand
	if d == nil {
		return odd
	}
	own := c.Car.FrontAxle + c.Car.RearAxle
	off := d.Wheelbase/own - 1
	if !(math.Abs(off) > d.Within+1e-9) {
		return odd
	}
	way := "longer"
	if off < 0 {
		way = "shorter"
	}
	return append(odd, c.Source.Shown(language.Problem{
		Place: c.demanded, Value: language.Length.Format(d.Wheelbase), Level: language.Warning,
		Message: fmt.Sprintf("the demand's wheelbase, %s, is %s %s than the car's, %s in line %d; its within is %s",
			language.Length.Format(d.Wheelbase), language.Share.Format(math.Round(1000*math.Abs(off))/1000), way, language.Length.Format(own), c.wheelbase.Line, language.Share.Format(d.Within)),
		Remedy: "write the same in both, unless the firmware was built for another car",
	}))
}
