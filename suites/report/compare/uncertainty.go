package compare

import (
	"math"
	"slices"

	"hilrig/assertions/measure"
	"hilrig/plant"
	"hilrig/suites/record"
)

// What both records share cancels in a difference: the rig's clock, the scale of its wires. None of that is
// in the uncertainties that a record keeps. What is in them does not cancel: noise; and where
// commands and pulses fall between the steps of a timer, which each run draws anew. Each kind of
// check has its own rule for how far two runs of one board may lie apart, with k the deviate at the
// level of one check:
//
//   - a mean or what is made of means (statistics and instrument are known): k times the root
//     sum of squares of both of both, k by Student's t with the degrees of freedom of Welch and
//     Satterthwaite; and the [Reading] of its pulses once, for that is an offset which either
//     run may have and the other not
//   - an extreme or another share in % without statistics, as the farthest command: k times the
//     root sum of squares of half of both half-widths; a step of the commands in each; what noise makes of an extreme,
//     four times the spread of the commands about that moment; the reading, with that of the throttle
//     In closed loop one drive has its extremes where noise took the car: such are compared by their verdicts alone
//   - a time in ms until something happened once: both half-widths, and the board's phase; see phaseOf
//   - a count: k times the root of the sum of both (Poisson)
//   - a loop rate: a z-test, k times the root sum of squares of both standard uncertainties, by the normal
//     distribution. A record keeps no single readings of it, for there are none: neighbouring frames show the same turns, so
//     that all frames together have one likelihood, and its interval of 99 % is kept. It holds the rate in the long run,
//     with jitter and wander of the turns; see [measure.UpdatePeriod]
//   - a response: the ranks of its single readings; see responses.go
//   - how far apart outputs begin, in us: both half-widths and two steps of a timer that counts
//     microseconds at either end
const (
	bothWithin99 = 2.576 // half-widths of 99 % in standard deviations
	extremes     = 4.0   // in standard deviations: what the extremes of two draws of some hundred values differ by at most, CALC
	timerStep    = 1.0   // us: common practice, no source
	// unknownPhase is ms that the board's phase may make, where neither responses were read nor the
	// policy says how long they may be: a frame of 50 Hz servo pulses.
	unknownPhase = 20.0
	// unknownReading is the share of a shift that reading the pulses a step differently may make, where the
	// policy does not say how large shifts are: a step of 1 us on a steering pulse that is 100 us
	// from its middle, for a yaw rate at 70 % of the demand.
	unknownReading = 0.03
)

// judge says what came of a check.
func (c *comparer) judge(p *pair) {
	p.kind = Same
	if p.both() {
		p.by = *p.b.Estimate - *p.a.Estimate
		p.counts = c.open(p)
	}
	switch {
	case p.is == record.Fail && p.was != record.Fail:
		p.kind = NewlyFailing
	case p.was == record.Fail && p.is == record.Pass:
		p.kind = PassesNow
	case judged(p.was) && !judged(p.is):
		p.kind = NoLongerJudged
	case !judged(p.was) && p.is == record.Pass:
		p.kind = JudgedNow
	case !judged(p.was):
	case p.both():
		if c.differs(p) {
			p.kind = p.direction()
		}
	case p.a.Measured() && p.b.Measured():
		p.kind, p.why = NotComparable, "the unit changed from "+p.a.Unit+" to "+p.b.Unit
	case p.a.Measured() != p.b.Measured():
		p.kind = Different
	}
}

// differs says whether the numbers of a pair differ beyond what both leave open.
func (c *comparer) differs(p *pair) bool {
	if p.sampled() {
		return c.respondsOtherwise(p)
	}
	return math.Abs(p.by) > p.counts
}

// direction says whether the room to the nearer limit shrinks or grows with the difference.
func (p *pair) direction() Kind {
	room := func(x float64) float64 {
		left := math.Inf(1)
		if p.b.LimitLow != nil {
			left = x - *p.b.LimitLow
		}
		if p.b.LimitHigh != nil {
			left = min(left, *p.b.LimitHigh-x)
		}
		return left
	}
	before := room(*p.a.Estimate)
	switch grows := room(*p.a.Estimate+p.by) - before; {
	case math.IsInf(before, 0):
		return Different
	case grows <= -math.Abs(p.by)/2:
		return Worse
	case grows >= math.Abs(p.by)/2:
		return Better
	}
	return Different
}

// open returns the difference up to which two runs of one board may lie apart, in the unit of the check.
func (c *comparer) open(p *pair) float64 {
	a, b, level := p.a, p.b, c.out.Level.ofCheck()
	k := measure.Deviate(level)
	ha, hb := half(a), half(b)
	switch {
	case a.Unit == "Hz":
		return k * math.Hypot(ha, hb) / bothWithin99
	case p.sampled():
		return k*math.Hypot(ha, hb)/2 + c.lag(p)
	case a.Unit == "":
		return k * math.Sqrt(math.Abs(*a.Estimate)+math.Abs(*b.Estimate))
	case a.Unit == "ms" || a.Unit == "s":
		return ha + hb + c.phase*map[string]float64{"ms": 1, "s": 1e-3}[a.Unit]
	case a.Unit == "us":
		return ha + hb + 4*timerStep
	case a.Statistics != nil && b.Statistics != nil:
		d := measure.Difference(estimateOf(a), estimateOf(b))
		degrees := d.DegreesOfFreedom
		if u := d.Standard(); u > 0 && degrees > 0 {
			degrees /= math.Pow(d.Statistical/u, 4)
		}
		return measure.DeviateOf(level, degrees)*d.Standard() + c.reading(p, false)
	case c.known.Closed != nil && c.known.Closed(p.at):
		return math.Inf(1)
	}
	return k*math.Hypot(ha, hb)/2 + c.reading(p, true) + 2*c.known.CommandStep*100 + extremes*max(spreadAt(c.a, p.at, a.AtNS), spreadAt(c.b, c.otherPlace(p), b.AtNS))
}

// half returns half of the width of a check's interval.
func half(k *record.Check) float64 {
	if k.Low == nil || k.High == nil {
		return 0
	}
	return (*k.High - *k.Low) / 2
}

// estimateOf returns a check's estimate with what is known of its uncertainty.
func estimateOf(k *record.Check) measure.Estimate {
	e := measure.Estimate{Value: *k.Estimate, Statistical: *k.Statistics}
	if k.Instrument != nil {
		e.Systematic = *k.Instrument
	}
	if u := e.Standard(); u > 0 && e.Statistical > 0 {
		if degrees := measure.DegreesBy(half(k) / u); degrees > 0 {
			e.DegreesOfFreedom = max(degrees*math.Pow(e.Statistical/u, 4), 1)
		}
	}
	return e
}

// reading returns what the board may read differently of its pulses, in the unit of the check.
func (c *comparer) reading(p *pair, extreme bool) float64 {
	size := max(math.Abs(*p.a.Estimate), math.Abs(*p.b.Estimate))
	r := c.readingAt(p.at, p.a.Step)
	switch {
	case p.a.Unit == "deg/s" && math.IsNaN(r.Demand), p.a.Unit == "%" && math.IsNaN(r.Shift):
		return unknownReading * size
	case p.a.Unit == "deg/s":
		return r.Demand * size
	case p.a.Unit != "%":
		return 0
	case extreme:
		return (r.Shift + r.Throttle) * 100
	}
	return r.Shift * 100
}

// stepOf is a step of a case.
type stepOf struct {
	at   Place
	step string
}

// readingAt returns what is known of a step's reading, which is asked for once.
func (c *comparer) readingAt(at Place, step string) Reading {
	if c.known.Reading == nil {
		return Reading{Shift: math.NaN(), Throttle: math.NaN(), Demand: math.NaN()}
	}
	r, ok := c.readings[stepOf{at, step}]
	if !ok {
		r = c.known.Reading(at, step)
		c.readings[stepOf{at, step}] = r
	}
	return r
}

// otherPlace returns the place of a pair's case in the second record.
func (c *comparer) otherPlace(p *pair) Place {
	for i := range c.cases {
		if c.cases[i].a == p.at {
			return c.cases[i].b
		}
	}
	return Place{-1, -1}
}

// around is how many bins before and after a moment show how the commands spread there.
const around = 20

// spreadAt returns how commands spread from frame to frame about a moment of a case, in % of range:
// a standard deviation, of the motor that spreads most. Where nothing is kept along the case it is 0.
//
// The means of neighbouring bins tell it, and within the bins half of how far they reach; what moves all the
// time counts too, which makes it larger.
func spreadAt(r *Run, at Place, ns int64) float64 {
	along := r.Alongs[at]
	if along == nil || along.BinNS <= 0 {
		return 0
	}
	middle, most := int((ns-along.StartNS)/along.BinNS), 0.0
	for w := range plant.Wheels {
		m := &along.Motors[w]
		from, to := max(middle-around, 0), min(middle+around, len(m.Mean))
		squares, n := 0.0, 0.0
		for i := from + 1; i < to; i++ {
			step, reach := m.Mean[i]-m.Mean[i-1], (m.High[i]-m.Low[i])/2
			if s := float64(step*step)/2 + float64(reach*reach); !math.IsNaN(s) {
				squares += s
				n++
			}
		}
		if n > 0 {
			most = max(most, math.Sqrt(squares/n))
		}
	}
	return most * 100
}

// phaseOf returns by how much a single event may come earlier or later for where it falls in the
// board's turns, ms: a turn of its loop, a frame of its sensor, a frame of its output. The readings of
// responses, which come at all phases, spread by just that. Where there are none, it is what the
// policy allows a response to take.
func (c *comparer) phaseOf() float64 {
	most := 0.0
	for i := range c.pairs {
		if p := &c.pairs[i]; p.sampled() {
			most = max(most, width(p.a.Samples), width(p.b.Samples))
		}
	}
	switch {
	case most > 0:
		return most
	case c.known.Response > 0:
		return c.known.Response
	}
	return unknownPhase
}

// width is how far readings reach.
func width(x []float64) float64 {
	if len(x) == 0 {
		return 0
	}
	return slices.Max(x) - slices.Min(x)
}
