package law

import "hilrig/assertions/measure"

// tractionControl brings in that a wheel which spins may have its motor cut, down to nothing.
func (r *reckoning) tractionControl() {
	t := r.l.p.TractionControl
	if t == nil || !r.in.HasWheels {
		return
	}
	slowest := size(r.in.Wheels[0]).Low
	for _, w := range r.in.Wheels[1:] {
		slowest = min(slowest, size(w).Low)
	}
	for i, w := range r.in.Wheels {
		if size(w).High > slowest*(1+*t) {
			lowest := r.l.scale.Lowest
			r.a.Shifts[i].Low = min(r.a.Shifts[i].Low, lowest-r.a.Unshifted[i].High)
			r.a.Commands[i].Low = lowest
			r.a.Perhaps[i], r.a.Surely[i] = true, false
		}
	}
}

// sumCap brings in that the commands together are at most something: they are scaled, or cut,
// each by the same, or one by all that is too much.
func (r *reckoning) sumCap() {
	most := r.l.p.SumCap
	if most == nil {
		return
	}
	sum, base := 0.0, 0.0
	for i := range r.a.Commands {
		sum += r.a.Commands[i].High
		base += r.in.Unshifted[i].High
	}
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
			r.a.Perhaps[i], r.a.Surely[i] = true, false
		}
		if c.High < 0 && sum > 0 { // scaled, it comes nearer to 0
			c.High = min(c.High+by, 0)
		}
		c.Low = min(c.Low, max(c.Low-by, r.lowest.Low))
	}
}
