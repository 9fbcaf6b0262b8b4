package law

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
		if size(w).High > slowest*(1+float64(*t*(1-nearSpeed))) {
			lowest := r.l.scale.Lowest
			r.a.Shifts[i].Low = min(r.a.Shifts[i].Low, lowest-r.a.Unshifted[i].High)
			r.a.Commands[i].Low = lowest
			r.a.Perhaps[i], r.a.Surely[i] = true, false
		}
	}
}
