package law

import "hilrig/assertions/measure"

// sum works out what the four commands may come to together: those of the motors, and where the policy says
// that the sum is kept, as with no shift, but for motors at a limit; at most the cap of the sum.
func (r *reckoning) sum() {
	p, off := &r.l.p, 4*r.l.resolution
	kept := p.SumKept && r.a.Missing == ""
	for i := range r.a.Commands {
		kept = kept && !r.a.Perhaps[i]
	}
	all, without := together(&r.a.Commands), together(&r.a.Unshifted)
	if kept {
		by := off + r.l.dead
		all.Low, all.High = max(all.Low, without.Low-by), min(all.High, without.High+by)
	}
	if p.SumCap != nil {
		all.High = min(all.High, max(*p.SumCap, 4*r.lowest.High)+off)
		all.Low = min(all.Low, all.High)
	}
	r.a.Sum = all
}

func sum(a *measure.Interval, b measure.Interval) { a.Low, a.High = a.Low+b.Low, a.High+b.High }

// together returns the sum of four commands; added in pairs, it is the same with left and right
// exchanged.
func together(c *[4]measure.Interval) measure.Interval {
	return measure.Interval{Low: c[0].Low + c[1].Low + (c[2].Low + c[3].Low), High: c[0].High + c[1].High + (c[2].High + c[3].High)}
}

// sumCap brings in that the commands together are at most something: they are scaled, or cut,
// each by the same, or one by all that is too much.
func (r *reckoning) sumCap() {
	most := r.l.p.SumCap
	if most == nil {
		return
	}
	sum, base := together(&r.a.Commands).High, together(&r.in.Unshifted).High
	r.lower(&r.a.Commands, max(sum, base)-*most, max(sum, base))
	r.lower(&r.a.Unshifted, base-*most, base)
}

// lower widens commands by what their sum is too much by.
func (r *reckoning) lower(commands *[4]measure.Interval, excess, sum float64) {
	if !(excess > 0) {
		return
	}
	for i := range commands {
		c := &commands[i]
		by := excess * max(1, max(-c.Low, c.High)/sum)
		if commands == &r.a.Commands {
			r.a.Shifts[i].Low -= by
			r.a.Shifts[i].High += by
			r.a.unlimited(i)
		}
		if c.High < 0 && sum > 0 { // scaled, it comes nearer to 0
			c.High = min(c.High+by, 0)
		}
		c.Low = min(c.Low, max(c.Low-by, r.lowest.Low))
	}
}
