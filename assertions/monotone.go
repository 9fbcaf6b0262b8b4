package assertions

import (
	"errors"
	"fmt"

	"hilrig/assertions/law"
	"hilrig/assertions/measure"
	"hilrig/plant"
)

// judge returns one result for each motor: that of the step to step change that
// goes the wrong way most.
func (c Monotone) judge(e *Evidence) []Result {
	words := "rising"
	if !c.Rising {
		words = "falling"
	}
	steps, err := e.steps(c.Steps)
	if err == nil && len(steps) < 2 {
		err = errors.New("the check names fewer than two steps; name those over which the motors move one way")
	}
	if err != nil {
		return []Result{unjudged("motors "+words, err)}
	}
	return eachMotor("motors "+words, c.Motors, steps[0], nil, func(corner law.Corner) Result {
		return e.monotone(string(corner)+" "+words, string(corner), corner, steps, monotony{rising: c.Rising, by: e.deadShift()})
	})
}

// monotony is how a motor goes over steps.
type monotony struct {
	rising bool
	back   float64 // how far it may go the other way from step to step, beside what counts as none
	by     float64 // by how much it has to go the right way over all steps; 0: it need not
}

// monotone judges that the mean of the motor that corner names goes one way from step to
// step. A change the other way that counts as none is none; over all steps together it has to
// go the right way.
func (e *Evidence) monotone(name, motor string, corner law.Corner, steps []*Step, goes monotony) Result {
	sign, way := 1.0, "rise"
	if !goes.rising {
		sign, way = -1, "fall"
	}
	means := make([]measure.Estimate, len(steps))
	in := readings{e: e}
	for i, s := range steps {
		means[i] = in.mean(in.wheel(corner, s), s)
		means[i].Value *= sign
	}
	worst, at := measure.Difference(means[1], means[0]), 1
	for i := 2; i < len(means); i++ {
		if d := measure.Difference(means[i], means[i-1]); !(d.Value >= worst.Value) {
			worst, at = d, i
		}
	}
	limit := AtLeast(-e.deadShift() - goes.back)
	r := found(name, fmt.Sprintf("least %s of %s from step to step", way, motor), worst, in.err, limit, steps[at])
	if r.Verdict != Pass || goes.by == 0 {
		return r.explained(fmt.Sprintf("%s goes the wrong way from %q to %q, from %s to %s", motor, steps[at-1].Name, steps[at].Name, share(sign*means[at-1].Value), share(sign*means[at].Value)),
			e.remedy(worst, limit, shorter(steps[at-1], steps[at]), percent, " %"))
	}
	last := len(means) - 1
	all := measure.Difference(means[last], means[0])
	limit = AtLeast(goes.by)
	r = found(name, fmt.Sprintf("%s of %s from %q to %q", way, motor, steps[0].Name, steps[last].Name), all, nil, limit, steps[last])
	return r.explained(fmt.Sprintf("%s does not %s: from %q to %q it goes from %s to %s", motor, way, steps[0].Name, steps[last].Name, share(sign*means[0].Value), share(sign*means[last].Value)),
		e.remedy(all, limit, shorter(steps[0], steps[last]), percent, " %"))
}

// monotone asks that the motors of a branch move farther the larger the yaw error, as far as
// the law has them do.
func (b *branch) monotone() []ask {
	steps := b.alike()
	switch {
	case splitFor(b.p, b.s) == nil:
		return b.notAsked("the policy asks for no shift in this step, or not surely for one branch; hold a yaw error")
	case b.p.ShiftAt == nil:
		return b.notAsked("the policy has no shift_at that would say how the shift grows with the yaw error")
	case b.p.ShiftAt.Grows == law.GrowthIntegrating:
		return b.notAsked("the policy's shift grows with time, whatever the size of the yaw error")
	case len(steps) < 2:
		return b.unshown(b.s.undecided("the case has no two steps that differ in the size of the yaw error alone and for which the policy asks a shift; add them"))
	}
	return asks(moving(splitFor(b.p, b.s)), func(m side) ask {
		words := "rises"
		if m.is == Lowered {
			words = "falls"
		}
		name := b.name(string(m.corner) + " " + words + " with the error")
		w, ok := m.corner.Wheel(b.s.Turn(b.p))
		if !ok {
			return b.noMotor(m)
		}
		goes := b.monotony(steps, w, m.is == Raised)
		return asking(name, func(b *branch) Result { return b.e.monotone(name, called(m.corner, w), m.corner, steps, goes) })
	})
}

// monotony returns how the law has a motor go over steps.
func (b *branch) monotony(steps []*Step, w plant.Wheel, rising bool) monotony {
	goes := monotony{rising: rising}
	var shifts []Limit // in the sense that it should go
	for _, s := range steps {
		d := b.meant(s)
		i := d.shifts[w]
		if !rising {
			i = between(-i.High, -i.Low)
		}
		shifts = append(shifts, i)
	}
	t := b.e.deadShift()
	for i := 1; i < len(shifts) && sized(b.p); i++ {
		goes.back = max(goes.back, shifts[i-1].High-shifts[i].Low-t)
	}
	if by := shifts[len(shifts)-1].Low - shifts[0].High; by > t {
		goes.by = t
	}
	return goes
}
