package assertions

import (
	"hilrig/assertions/law"
	"hilrig/assertions/measure"
	"hilrig/plant"
)

// readings reads what a check needs, one after the other, and keeps the first error. What is
// read after it is nothing, so that err has to be looked at only once all is read.
type readings struct {
	e   *Evidence
	err error
}

// step returns the named step, nil after an error.
func (r *readings) step(name string) (s *Step) {
	if r.err == nil {
		s, r.err = r.e.step(name)
	}
	return s
}

// baselineOf returns the baseline that the shifts of s are counted from.
func (r *readings) baselineOf(s *Step) (base *Step) {
	if r.err == nil {
		base, r.err = r.e.baselineOf(s)
	}
	return base
}

// wheel returns the wheel that c names in a step.
func (r *readings) wheel(c law.Corner, s *Step) (w plant.Wheel) {
	if r.err == nil {
		w, r.err = r.e.wheel(c, s)
	}
	return w
}

// mean estimates a motor's mean command in a step's window.
func (r *readings) mean(w plant.Wheel, s *Step) (est measure.Estimate) {
	if r.err == nil {
		est, r.err = r.e.mean(w, s)
	}
	return est
}

// shift estimates how far a motor's mean command moved from the baseline.
func (r *readings) shift(w plant.Wheel, s, base *Step) measure.Estimate {
	before := r.mean(w, base)
	return measure.Difference(r.mean(w, s), before)
}

// shiftBeyond estimates a motor's shift less the change of throttle since the baseline.
func (r *readings) shiftBeyond(w plant.Wheel, s, base *Step) measure.Estimate {
	est := r.shift(w, s, base)
	if r.err == nil {
		rise := r.e.rise(int(w), base.Throttle, s.Throttle)
		est.Value -= middleOf(rise)
		if half := rise.Width() / 2; half > 0 {
			est.Systematic = measure.RootSumSquare(est.Systematic, measure.Rectangular(half))
		}
	}
	return est
}
