package assertions

import (
	"errors"
	"fmt"

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
	return eachMotor("motors "+words, c.Motors, steps[0], nil, func(corner Corner) Result { return e.oneWay(corner, words, steps, c.Rising) })
}

func (e *Evidence) oneWay(corner Corner, words string, steps []*Step, rising bool) Result {
	name := string(corner) + " " + words
	in := readings{e: e}
	var wheels []plant.Wheel
	for _, s := range steps {
		wheels = append(wheels, in.wheel(corner, s))
	}
	if in.err != nil {
		return unjudged(name, in.err)
	}
	return e.monotone(name, string(corner), wheels, steps, rising)
}

// monotone judges that a motor's mean goes one way from step to step. A change
// the other way that counts as none is none; over all steps together it has to
// go the right way by more than that.
func (e *Evidence) monotone(name, motor string, wheels []plant.Wheel, steps []*Step, rising bool) Result {
	sign := 1.0
	if !rising {
		sign = -1
	}
	means := make([]measure.Estimate, len(steps))
	in := readings{e: e}
	for i, s := range steps {
		means[i] = in.mean(wheels[i], s)
		means[i].Value *= sign
	}
	worst, at := measure.Difference(means[1], means[0]), 1
	for i := 2; i < len(means); i++ {
		if d := measure.Difference(means[i], means[i-1]); !(d.Value >= worst.Value) {
			worst, at = d, i
		}
	}
	limit := AtLeast(-e.deadShift())
	way := "rise"
	if !rising {
		way = "fall"
	}
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

// monotone judges that the motors of a branch move farther the larger the yaw
// error, in the sense that the policy says.
func (b *branch) monotone() []Result {
	steps := b.alike()
	if len(steps) < 2 {
		return b.unjudged(b.s.undecided("the case has no two steps that differ in the size of the yaw error alone and for which the policy asks a shift; add them"))
	}
	var results []Result
	for _, m := range b.p.splitFor(b.s).moving() {
		words := "rises"
		if m.is == Lowered {
			words = "falls"
		}
		w, err := b.e.wheel(m.corner, b.s)
		name := b.name(string(m.corner) + " " + words + " with the error")
		if err != nil {
			results = append(results, unjudged(name, err))
			continue
		}
		results = append(results, b.e.monotone(name, called(m.corner, w), b.wheels(m.corner, steps), steps, m.is == Raised))
	}
	return results
}

// wheels returns the wheel that a corner names in each step.
func (b *branch) wheels(corner Corner, steps []*Step) []plant.Wheel {
	var wheels []plant.Wheel
	for _, s := range steps {
		w, _ := corner.Wheel(s.Turn(b.p))
		wheels = append(wheels, w)
	}
	return wheels
}
