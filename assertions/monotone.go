package assertions

import (
	"errors"
	"fmt"

	"hilrig/assertions/law"
	"hilrig/assertions/measure"
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
		return e.monotone(string(corner)+" "+words, string(corner), corner, steps, c.Rising)
	})
}

// monotone judges that the mean of the motor that corner names goes one way from step to
// step. A change the other way that counts as none is none; over all steps together it has to
// go the right way by more than that.
func (e *Evidence) monotone(name, motor string, corner law.Corner, steps []*Step, rising bool) Result {
	sign, way := 1.0, "rise"
	if !rising {
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
	limit := AtLeast(-e.deadShift())
	r := found(name, fmt.Sprintf("least %s of %s from step to step", way, motor), worst, in.err, limit, steps[at])
	if r.Verdict != Pass {
		return r.explained(fmt.Sprintf("%s goes the wrong way from %q to %q, from %s to %s", motor, steps[at-1].Name, steps[at].Name, share(sign*means[at-1].Value), share(sign*means[at].Value)),
			remedy(worst, limit, shorter(steps[at-1], steps[at]), percent, " %"))
	}
	last := len(means) - 1
	all := measure.Difference(means[last], means[0])
	limit = AtLeast(e.deadShift())
	r = found(name, fmt.Sprintf("%s of %s from %q to %q", way, motor, steps[0].Name, steps[last].Name), all, nil, limit, steps[last])
	return r.explained(fmt.Sprintf("%s does not %s: from %q to %q it goes from %s to %s", motor, way, steps[0].Name, steps[last].Name, share(sign*means[0].Value), share(sign*means[last].Value)),
		remedy(all, limit, shorter(steps[0], steps[last]), percent, " %"))
}

// monotone asks that the motors of a branch move farther the larger the yaw
// error, in the sense that the policy says.
func (b *branch) monotone() []ask {
	steps := b.alike()
	if len(steps) < 2 {
		return b.unshown(b.s.undecided("the case has no two steps that differ in the size of the yaw error alone and for which the policy asks a shift; add them"))
	}
	return asks(moving(splitFor(b.p, b.s)), func(m side) ask {
		words := "rises"
		if m.is == Lowered {
			words = "falls"
		}
		w, _ := m.corner.Wheel(b.s.Turn(b.p))
		name := b.name(string(m.corner) + " " + words + " with the error")
		return asking(name, func(b *branch) Result {
			return b.e.monotone(name, called(m.corner, w), m.corner, steps, m.is == Raised)
		})
	})
}
