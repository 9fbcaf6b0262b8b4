package compare

import (
	"math"
	"slices"
	"strings"

	"hilrig/assertions/measure"
)

// causes are what is looked for, in an order in which each may explain those behind it. Each
// returns nil where both boards are alike in it.
var causes = [...]func(c *comparer) *Cause{(*comparer).loopRate, (*comparer).response, (*comparer).demand, (*comparer).shift}

// findCauses finds the changes that many checks show, and puts under each what follows from it.
func (c *comparer) findCauses() {
	for _, find := range causes {
		k := find(c)
		if k == nil {
			continue
		}
		kinds := []Kind{k.Kind}
		for i := range c.pairs {
			if p := &c.pairs[i]; p.kind != Same && p.follows == "" && p.both() && k.explains(p) {
				p.follows = k.Name
				kinds = append(kinds, p.kind)
			}
		}
		k.Kind = gravest(kinds)
		c.out.Causes = append(c.out.Causes, *k)
	}
}

// gravest returns what a cause comes to by what follows from it.
func gravest(kinds []Kind) Kind {
	for _, of := range [...]struct{ any, come Kind }{{NewlyFailing, Worse}, {Worse, Worse}, {Better, Better}, {PassesNow, Better}} {
		if slices.Contains(kinds, of.any) {
			return of.come
		}
	}
	return Different
}

// mostTurns is how many turns of a loop may pass from what came to its answer: the board may ask for
// a second reading before it believes one, and a timeout may end just after a turn.
const mostTurns = 3

// loopRate says whether the loop's rate differs. A slower loop has all that waits for it come later:
// responses, and what ends after a time.
func (c *comparer) loopRate() *Cause {
	pairs := c.rates()
	if len(pairs) == 0 {
		return nil
	}
	k := &Cause{Name: "loop rate", Unit: "Hz"}
	u, kinds := 0.0, []Kind{}
	for _, p := range pairs {
		k.Before += *p.a.Estimate / float64(len(pairs))
		k.After += *p.b.Estimate / float64(len(pairs))
		u = max(u, math.Hypot(half(p.a), half(p.b))/bothWithin99) // of all alike: they share the rig's clock
		kinds = append(kinds, p.direction())
	}
	by, open := k.After-k.Before, measure.Deviate(c.out.Level.ofCause())*u
	if math.Abs(by) <= open {
		return nil
	}
	k.Low, k.High, k.Kind = by-open, by+open, gravest(kinds)
	turn := 1000/k.After - 1000/k.Before
	c.turn = turn
	c.late = mostTurns * math.Abs(turn)
	k.explains = func(p *pair) bool { return p.a.Unit == "Hz" || c.delayed(p, turn, c.late) }
	return k
}

// delayed says whether a pair is of what the board does after a time, and differs as one that is later by
// some ms, or sooner where that is negative, would: the same way, and by no more than most.
func (c *comparer) delayed(p *pair, later, most float64) bool {
	unit, ok := map[string]float64{"ms": 1, "s": 1e-3}[p.a.Unit]
	return ok && p.by*later >= 0 && math.Abs(p.by) <= most*unit+p.counts
}

// response says whether all responses together differ, where the loop does not explain it.
func (c *comparer) response() *Cause {
	k := &Cause{Name: "response", Unit: "ms"}
	var all []measure.Ranks
	var kinds []Kind
	n, by, lag := 0.0, 0.0, 0.0
	for i := range c.pairs {
		p := &c.pairs[i]
		if !p.sampled() {
			continue
		}
		n++
		k.Before += measure.Describe(p.a.Samples).Mean
		by += p.readingsApart()
		lag = max(lag, c.lag(p))
		all = append(all, c.ranks(p, c.lag(p)))
		kinds = append(kinds, p.direction())
	}
	if n == 0 {
		return nil
	}
	k.Before, by = k.Before/n, by/n
	k.After = k.Before + by
	z, needed := measure.Together(all...).Deviations(), measure.Deviate(c.out.Level.ofCause())
	if byLoop := c.turn*by > 0 && math.Abs(by) <= c.late+lag; byLoop || math.Abs(z) <= needed {
		return nil
	}
	open := math.Abs(by/z) * needed
	k.Low, k.High, k.Kind = by-open, by+open, gravest(kinds)
	c.late = max(c.late, 2*math.Abs(by))
	k.explains = func(p *pair) bool { return c.delayed(p, by, 2*math.Abs(by)) }
	return k
}

// shift says whether all shifts differ by one share of their size. With it goes what is made of
// shifts: how they grow, where motors come to an end of their range, what the car does with them.
func (c *comparer) shift() *Cause {
	isShift := func(p *pair) bool { return p.a.Unit == "%" && strings.HasPrefix(p.a.Quantity, "shift of ") }
	k, by := c.scaled("shift", "%", mostly, isShift)
	if k == nil {
		return nil
	}
	largest := 0.0
	for i := range c.pairs {
		if p := &c.pairs[i]; p.both() && isShift(p) {
			largest = max(largest, math.Abs(*p.a.Estimate))
		}
	}
	grown := math.Abs(by)
	c.grown = max(c.grown, grown)
	k.explains = func(p *pair) bool {
		switch {
		case p.a.Unit != "%":
			return false
		case isShift(p) || p.a.Statistics != nil && !strings.HasPrefix(p.a.Name, "RMS"):
			return math.Abs(p.by-by**p.a.Estimate) <= p.counts || math.Abs(p.by) <= grown*largest
		}
		return math.Abs(p.by) <= grown*largest+p.counts
	}
	return k
}

// demandedAbove is how many times the share by which the demand differs a shift may differ: it goes by the
// yaw error, which is a part of the demand.
const demandedAbove = 10

// demand says whether all yaw rates that the board takes as demanded differ by one share. With the demand
// every shift changes. It need not differ by the same share at every speed: a wheelbase that is wrong counts
// for more where the car goes slowly.
func (c *comparer) demand() *Cause {
	k, by := c.scaled("demand", "deg/s", 0, func(p *pair) bool { return p.a.Unit == "deg/s" && about(p.a.Name) == "demand" })
	if k == nil {
		return nil
	}
	c.grown = demandedAbove * math.Abs(by)
	most := c.grown * c.largestShift()
	k.explains = func(p *pair) bool {
		if p.a.Unit == "deg/s" {
			return p.by**p.a.Estimate*by > 0
		}
		return p.a.Unit == "%" && math.Abs(p.by) <= most
	}
	return k
}

// fewestCases is how many cases a share that all have in common is looked for in: with fewer, the
// order of their values cannot reach the level.
const fewestCases = 11

// plainly is how many times its uncertainty a value has to be for its share to be read.
const plainly = 10

// mostly is which share of the values have to differ by what they have in common, within what each leaves open:
// a board that lowers motors no longer has no smaller shift.
const mostly = 0.75

// scaled finds whether the pairs that are accepted differ by one share of their values, and
// which. Each case counts once, by the median of its own, for what it reads of its pulses is the
// same in all its checks. The share is the median of the cases, its interval that of order
// statistics, which rests on no distribution: what pulses are read as goes up as often as down from
// case to case. It counts beyond what the steps of the commands leave of one value.
//
// Fit is which share of the values have to differ by just that.
func (c *comparer) scaled(name, unit string, fit float64, accept func(p *pair) bool) (k *Cause, by float64) {
	shares := map[Place][]float64{}
	var open, sizes []float64
	var pairs []*pair
	for i := range c.pairs {
		p := &c.pairs[i]
		if !p.both() || !accept(p) || p.a.Statistics == nil || p.b.Statistics == nil || p.a.Instrument == nil || p.b.Instrument == nil {
			continue
		}
		size, steps := math.Abs(*p.a.Estimate), math.Hypot(*p.a.Instrument, *p.b.Instrument)
		if size < plainly*math.Hypot(steps, math.Hypot(*p.a.Statistics, *p.b.Statistics)) {
			continue
		}
		shares[p.at] = append(shares[p.at], p.by / *p.a.Estimate)
		open, sizes, pairs = append(open, steps/size), append(sizes, size), append(pairs, p)
	}
	if len(shares) < fewestCases {
		return nil, 0
	}
	var each []float64
	for _, of := range shares {
		each = append(each, median(of))
	}
	slices.Sort(each)
	by = median(each)
	within := measure.QuantileInterval(each, 0.5, 1-c.out.Level.ofCause())
	floor := median(open)
	if within.Low <= floor && within.High >= -floor {
		return nil, 0
	}
	fitting := 0
	for _, p := range pairs {
		if math.Abs(p.by-by**p.a.Estimate) <= p.counts {
			fitting++
		}
	}
	if float64(fitting) < fit*float64(len(pairs)) {
		return nil, 0
	}
	k = &Cause{Name: name, Unit: unit, Before: median(sizes)}
	k.After, k.Low, k.High = k.Before*(1+by), k.Before*(within.Low-floor), k.Before*(within.High+floor)
	var kinds []Kind
	for _, p := range pairs {
		own := *p
		own.by = by * *p.a.Estimate
		kinds = append(kinds, own.direction())
	}
	k.Kind = gravest(kinds)
	return k, by
}

// median returns the middle of values, which it sorts.
func median(x []float64) float64 {
	slices.Sort(x)
	return measure.Quantile(x, 0.5)
}
