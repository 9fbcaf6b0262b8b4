package law

import "hilrig/assertions/measure"

// MayCut says whose motors traction control may cut: those of wheels that may be read as faster than the
// slowest by the policy's share. A wheel whose sensor is silent may be read as standing.
func (l *Law) MayCut(in *Inputs) (may [4]bool) {
	t := l.p.TractionControl
	if t == nil || !in.HasWheels {
		return may
	}
	slowest := size(in.Wheels[0]).Low
	for i, w := range in.Wheels {
		if in.Silent[i] {
			w = measure.Interval{}
		}
		slowest = min(slowest, size(w).Low)
	}
	for i, w := range in.Wheels {
		may[i] = size(w).High > slowest*(1+float64(*t*(1-nearSpeed)))
	}
	return may
}

// tractionControl brings in that a wheel which spins may have its motor cut, down to nothing.
func (r *reckoning) tractionControl() {
	for i, may := range r.l.MayCut(r.in) {
		if may {
			lowest := r.l.scale.Lowest
			r.a.Shifts[i].Low = min(r.a.Shifts[i].Low, lowest-r.a.Unshifted[i].High)
			r.a.Commands[i].Low = lowest
			r.a.Perhaps[i], r.a.Surely[i] = true, false
		}
	}
}
