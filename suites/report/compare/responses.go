package compare

import (
	"fmt"
	"math"
	"slices"

	"hilrig/assertions/measure"
)

// sampled says whether both records keep the single readings of the check.
func (p *pair) sampled() bool { return p.both() && len(p.a.Samples) > 0 && len(p.b.Samples) > 0 }

// lag returns by how much all readings of a response may be later or sooner from one run of a
// board to the next, ms. Loop and output may run at rates that hang together; the time from a
// turn of the loop to the frame that carries it then takes a few values alone, which stay
// through a run and lie elsewhere in the next. They reach no farther than a turn, and than the readings reach beyond one; where these
// reach over one turn alone, loop and output have one rate, and it is a turn.
//
// Boards that drew their phases from one seed share them, where their loops have one rate.
func (c *comparer) lag(p *pair) float64 {
	if c.seeded() && !c.paced() {
		return 0
	}
	reach := max(width(p.a.Samples), width(p.b.Samples))
	rates := c.rates()
	if len(rates) == 0 {
		return reach / 2
	}
	turn := 0.0
	for _, r := range rates {
		turn = max(turn, 1000 / *r.a.Estimate, 1000 / *r.b.Estimate)
	}
	if beyond := reach - turn; beyond > turn/5 {
		return min(turn, beyond)
	}
	return turn
}

// respondsOtherwise says whether a response differs: all of its readings by their ranks, or the quantile that is
// judged beyond its own uncertainty, for what is late may be few. These are two comparisons.
func (c *comparer) respondsOtherwise(p *pair) bool {
	lag := c.lag(p)
	by := p.readingsApart()
	z := c.ranks(p, lag).Deviations()
	byRanks := math.Abs(z) > measure.Deviate(c.out.Level.ofCheck())
	byQuantile := math.Abs(p.by) > p.counts
	if byRanks {
		p.why = fmt.Sprintf("its readings lie %.2g ms %s, the middle of all differences", math.Abs(by), later(by))
		p.by = by
	}
	return byRanks || byQuantile
}

// readingsApart returns by how much the second record's readings lie above the first's.
func (p *pair) readingsApart() float64 {
	if p.apart == nil {
		by := measure.ShiftBetween(p.a.Samples, p.b.Samples)
		p.apart = &by
	}
	return *p.apart
}

// ranks ranks the readings of both, those of the second brought nearer to the first by up to lag.
func (c *comparer) ranks(p *pair, lag float64) measure.Ranks {
	by := p.readingsApart()
	nearer := min(math.Abs(by), lag)
	moved := make([]float64, len(p.b.Samples))
	for i, x := range p.b.Samples {
		moved[i] = x - math.Copysign(nearer, by)
	}
	return measure.RanksOf(p.a.Samples, moved)
}

func later(by float64) string {
	if by < 0 {
		return "sooner"
	}
	return "later"
}

// rates returns the pairs that are of the loop's rate and decided in both.
func (c *comparer) rates() (all []*pair) {
	for i := range c.pairs {
		if p := &c.pairs[i]; p.both() && p.a.Unit == "Hz" && judged(p.was) && judged(p.is) && *p.a.Estimate > 0 && *p.b.Estimate > 0 {
			all = append(all, p)
		}
	}
	return all
}

// paced says whether some loop rate differs, so that its turns come to other moments.
func (c *comparer) paced() bool {
	return slices.ContainsFunc(c.rates(), func(p *pair) bool { return math.Abs(*p.b.Estimate-*p.a.Estimate) > c.open(p) })
}
