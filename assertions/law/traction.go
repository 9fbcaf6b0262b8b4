package law

// MayCut says whose motors traction control may cut: those of wheels that may be read as faster than the
// slowest by the policy's share. A wheel whose sensor is silent may be read as standing. Where a wheel hardly
// turns, any may be read as the faster.
func (l *Law) MayCut(in *Inputs) (may [4]bool) {
	t := l.p.TractionControl
	if t == nil || !in.HasWheels {
		return may
	}
	slowest, standing := size(in.Wheels[0]).Low, false
	for i, w := range in.Wheels {
		slowest, standing = min(slowest, size(w).Low), standing || in.Silent[i]
	}
	hardly := slowest < fewEdges
	ratio := 1 + float64(*t*(1-nearSpeed))
	if in.SpeedOpen > 0 {
		ratio *= (1 - readingOff) / (1 + readingOff)
	}
	for i, w := range in.Wheels {
		least := slowest
		if standing && !in.Silent[i] {
			least = 0
		}
		may[i] = hardly || size(w).High > least*ratio
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
			r.a.unlimited(i)
		}
	}
}
