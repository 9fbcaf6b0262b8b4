package file

import (
	"fmt"
	"math"
	"slices"

	"hilrig/assertions"
	"hilrig/rig/signal"
	"hilrig/rig/trace"
	"hilrig/stimulus/wire"
	"hilrig/suites/language"
)

// impossible returns what a suite asks for that car and bench cannot play, or that takes
// longer or more memory than a case may. What depends on a nil car or bench is not checked.
func impossible(s *Suite, car *Car, bench *Bench) language.Problems {
	p := newSuiteChecker(s, car, bench)
	p.lengths()
	if bench == nil {
		return p.told()
	}
	if car != nil {
		if w, err := Complete(bench, car); err == nil {
			p.wiring = &w
		}
	}
	for i := range s.Cases {
		c := &s.Cases[i]
		p.yawWire(c)
		for j := range c.Steps {
			p.step(c, &c.Steps[j])
			p.unread(&c.Steps[j])
		}
	}
	p.response()
	p.pace()
	return p.told()
}

// response reports a response that no board could keep on this bench: a changed
// command is known at the end of its pulse, and the pulse begins up to a frame
// after the change, evenly spread.
func (p *suiteChecker) response() {
	if p.car == nil || p.car.Policy.Response == nil || !p.suite.expects("response") {
		return
	}
	limit, m := p.car.Policy.Response, &p.bench.Wiring.Motors[0]
	shortest, _ := m.Times()
	what := "pulse"
	if m.Kind.Digital() {
		what = "frame"
	}
	best, why := shortest, fmt.Sprintf("a %s alone takes %s", what, span(shortest))
	if p.bench.MotorRate > 0 {
		best += signal.FromSeconds(limit.Quantile / p.bench.MotorRate)
		why = fmt.Sprintf("%s of them take up to %s with %ss of %s at %s", language.Share.Format(limit.Quantile), span(best), what, span(shortest), language.Frequency.Format(p.bench.MotorRate))
	}
	if best <= limit.AtMost {
		return
	}
	p.problems = append(p.problems, p.car.Source.Shown(language.Problem{Place: p.car.places["response"], Message: fmt.Sprintf("the response cannot be at most %s on bench %q: %s", span(limit.AtMost), language.Brief(p.bench.Name), why),
		Remedy: "ask for a longer time, or have the board send its commands more often"}))
}

// expects tells whether any case expects what the policy says of a situation.
func (s *Suite) expects(situation string) bool {
	for i := range s.Cases {
		for _, x := range s.Cases[i].Expect {
			if check, ok := x.Check.(assertions.PolicyBranch); ok && check.Of == situation {
				return true
			}
		}
	}
	return false
}

// yawWire reports a case that plays a yaw rate where the bench sends none.
func (p *suiteChecker) yawWire(c *Case) {
	for _, f := range p.bench.Wiring.Frames {
		for _, x := range f.Carrying() {
			if x.Channel == "yaw_rate" {
				return
			}
		}
	}
	for i := range c.Steps {
		if low, high := c.Steps[i].span(trace.YawRate); low != 0 || high != 0 {
			p.at(c.Place, language.Mistake, fmt.Sprintf("case %q plays a yaw rate, but bench %q sends none", language.Brief(c.Name), language.Brief(p.bench.Name)),
				"add a field with channel: yaw_rate to the bench file")
			return
		}
	}
}

// step reports values of one step that a wire cannot carry. In closed loop speed,
// yaw rate and wheel speeds are the model's, and not known beforehand.
func (p *suiteChecker) step(c *Case, s *Step) {
	if p.wiring != nil {
		p.pulse(s, trace.Steer, &p.wiring.Steer)
	}
	p.pulse(s, trace.Throttle, &p.bench.Wiring.Throttle)
	p.pulse(s, trace.Gain, &p.bench.Wiring.Gain)
	if p.bench.Wiring.Bus.Port != "" {
		p.bus(s)
	}
	if c.Closed || p.car == nil {
		return
	}
	p.edges(s)
	for i := range p.bench.Wiring.Frames {
		f := &p.bench.Wiring.Frames[i]
		for _, one := range f.Carrying() {
			p.field(s, f.Port, one)
		}
	}
}

// The widths at which a pulse may be off its end by rounding, and no more.
const roundingWidth = signal.Microsecond

// pulse reports a value for which a receiver channel's pulse would be clipped.
func (p *suiteChecker) pulse(s *Step, c trace.Channel, w *wire.Pulse) {
	low, high := s.span(c)
	for _, x := range []float64{low, high} {
		width, ok := pulseFor(w, x)
		if ok {
			continue
		}
		least, most := clips(*w)
		key := heldKey(c)
		p.at(s.Place, language.Mistake, fmt.Sprintf("%s %s would be a pulse of %s, which is clipped", key.Name, key.Quantity.Format(x), span(width)),
			fmt.Sprintf("play less; the bench's pulses are %s to %s wide", span(least), span(most)))
		return
	}
}

// pulseFor returns the width that stands for a value, not clipped, and whether it can be played; a channel
// whose ends are alike, as steer's is without a car, plays everything.
func pulseFor(w *wire.Pulse, x float64) (width signal.Time, ok bool) {
	if w.HighValue == w.LowValue || w.High == w.Low {
		return w.Low, true
	}
	slope := float64(w.High-w.Low) / (w.HighValue - w.LowValue)
	width = w.Low + signal.FromSeconds(float64((x-w.LowValue)*slope)/1e9)
	least, most := clips(*w)
	return width, width >= least-roundingWidth && width <= most+roundingWidth
}

// countFor returns the counts that stand for a value on the receiver's bus, not rounded and not clipped, and
// whether they can be played.
func countFor(on *wire.BusChannel, x float64) (count float64, ok bool) {
	count = on.Count(x)
	return count, count >= -0.5 && count <= 2047.5
}

// throttlePlays tells whether the bench's receiver can be played a throttle.
func (b *Bench) throttlePlays(throttle float64) bool {
	if b.Wiring.Bus.Port != "" {
		_, ok := countFor(&b.Wiring.Bus.Throttle, throttle)
		return ok
	}
	_, ok := pulseFor(&b.Wiring.Throttle, throttle)
	return ok
}

// bus reports a value that a channel of the receiver's bus would clip.
func (p *suiteChecker) bus(s *Step) {
	of := &p.bench.Wiring.Bus
	if p.wiring != nil {
		of = &p.wiring.Bus
	}
	for _, one := range []struct {
		channel trace.Channel
		on      *wire.BusChannel
	}{{trace.Steer, &of.Steer}, {trace.Throttle, &of.Throttle}, {trace.Gain, &of.Gain}} {
		if one.on.LowValue == one.on.HighValue {
			continue // steer, without a car
		}
		low, high := s.span(one.channel)
		for _, x := range []float64{low, high} {
			if count, ok := countFor(one.on, x); !ok {
				key := heldKey(one.channel)
				p.at(s.Place, language.Mistake, fmt.Sprintf("%s %s would be %.0f counts on the receiver's bus, which is clipped", key.Name, key.Quantity.Format(x), count), "play less; a channel holds 0 to 2047 counts")
			}
		}
	}
}

// mostEdges is how many edges a second a simulated bench can play on the two
// lines of one encoder.
const mostEdges = 5e6

// edges reports wheels that turn faster than the bench can play.
func (p *suiteChecker) edges(s *Step) {
	for w, e := range p.bench.Wiring.Encoders {
		low, high := p.wheel(s, w)
		rate := max(-low, high)
		if e.Kind == wire.DutyWheel {
			// Half a turn and more from one pulse of an angle sensor to the next hides the direction.
			if turn := rate * e.Duty.Period.Seconds(); turn >= math.Pi {
				p.at(s.Place, language.Mistake, fmt.Sprintf("wheel %s at %s turns by %s from pulse to pulse of its sensor; half a turn and more cannot be told from less", corners[w], language.AngularRate.Format(rate), language.Angle.Format(turn)),
					fmt.Sprintf("play a lower speed, or declare a period shorter than %s", span(e.Duty.Period)))
				return
			}
			continue
		}
		if e.EdgeRate(rate) <= mostEdges {
			continue
		}
		p.at(s.Place, language.Mistake, fmt.Sprintf("wheel %s at %s gives %s edges a second, more than the bench can play", corners[w], language.AngularRate.Format(rate), signal.Digits(e.EdgeRate(rate), 3)),
			"play a lower speed, or declare "+fewer(&e))
		return
	}
}

// fewer says what a wheel sensor should have less of.
func fewer(e *wire.WheelSensor) string {
	if e.Kind == wire.TachoWheel {
		return fmt.Sprintf("fewer pulses than %d a turn", e.Tacho.Pulses)
	}
	return fmt.Sprintf("fewer lines than %d a turn", e.Quadrature.Lines)
}

// field reports a value that a sensor's field would clip.
func (p *suiteChecker) field(s *Step, port string, f *wire.Field) {
	c, ok := trace.ChannelNamed(f.Channel)
	if !ok || f.Scale == 0 && f.Kind == wire.Integer || f.Min == 0 && f.Max == 0 && f.Kind != wire.Integer {
		return
	}
	low, high := p.span(s, c)
	least, most := limits(f)
	if half := float64(math.Abs(f.Scale) / 2); low >= least-half && high <= most+half {
		return
	}
	q, _ := channelQuantity(c)
	x := low
	if high > most {
		x = high
	}
	p.at(s.Place, language.Mistake, fmt.Sprintf("%s %s would be clipped by its field on %s", f.Channel, q.Format(x), port),
		fmt.Sprintf("play what lies within %s to %s, or give the field a larger range", q.Format(least), q.Format(most)))
}

// limits returns the least and the greatest value that a field holds.
func limits(f *wire.Field) (least, most float64) {
	if f.Min != 0 || f.Max != 0 {
		return f.Min, f.Max
	}
	if f.Kind != wire.Integer {
		return math.Inf(-1), math.Inf(1)
	}
	bits := f.Width
	if bits == 0 {
		bits = 8 * f.Size
	}
	bottom, top := integerBounds(bits, f.Signed)
	a, b := float64(bottom*f.Scale)+f.Offset, float64(top*f.Scale)+f.Offset
	return min(a, b), max(a, b)
}

// span returns the least and the greatest value that a step gives a channel.
func (p *suiteChecker) span(s *Step, c trace.Channel) (low, high float64) {
	if c >= trace.WheelFrontLeft && c <= trace.WheelRearRight {
		return p.wheel(s, int(c-trace.WheelFrontLeft))
	}
	return s.span(c)
}

// wheel returns the least and the greatest rate of a wheel in a step: its own,
// or that of its hub, with its slip, at the corners of what speed, yaw rate and steer may be.
func (p *suiteChecker) wheel(s *Step, w int) (low, high float64) {
	c := trace.WheelFrontLeft + trace.Channel(w)
	if s.Wheels[w] != nil {
		return s.span(c)
	}
	var ends [3][2]float64
	for i, c := range []trace.Channel{trace.Speed, trace.YawRate, trace.Steer} {
		ends[i][0], ends[i][1] = s.span(c)
	}
	var rates []float64
	for i := range 8 {
		rates = append(rates, assertions.Slipping(p.car.Car.WheelRates(ends[0][i&1], ends[1][i>>1&1], ends[2][i>>2&1]), &s.Slip)[w])
	}
	return slices.Min(rates), slices.Max(rates)
}

// span returns the least and the greatest value that the step itself gives a
// played channel.
func (s *Step) span(c trace.Channel) (low, high float64) {
	held := ValueOf(&s.Values, c)
	if c >= trace.WheelFrontLeft && c <= trace.WheelRearRight {
		held = s.Wheels[c-trace.WheelFrontLeft]
	}
	if held != nil {
		low = *held
	}
	high = low
	reach := func(x, y float64) { low, high = min(low, x, y), max(high, x, y) }
	for _, m := range s.Shapes {
		if m.Channel == c {
			reach(spanOf(m.Shape))
		}
	}
	if s.Sweep != nil && s.Sweep.Channel == c {
		reach(s.Sweep.From, s.Sweep.To)
	}
	if s.Trials != nil && s.Trials.Channel == c {
		reach(s.Trials.Levels[0], s.Trials.Levels[1])
	}
	return low, high
}
