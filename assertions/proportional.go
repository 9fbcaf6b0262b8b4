package assertions

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"

	"hilrig/assertions/law"
	"hilrig/assertions/measure"
)

// judge returns one result for each motor: how far its shifts stand from the
// straight line through the origin that fits them best.
func (c Proportional) judge(e *Evidence) []Result {
	b := &branch{e: e, p: e.policy(), of: "proportional"}
	steps, err := e.steps(c.Steps)
	if err == nil && len(steps) == 0 {
		err = errors.New("the check names no step; name at least two")
	}
	if err == nil {
		b.s = steps[len(steps)-1]
		b.base, err = e.baselineOf(b.s)
	}
	return eachMotor("motors proportional", c.Motors, b.s, err, func(corner law.Corner) Result {
		return b.onLine(string(corner)+" proportional", corner, steps, c.Within)
	})
}

// point is one reading of a line: the yaw error times the gain, positive where
// the car turns less than asked, and a motor's shift.
type point struct {
	x    float64
	y    measure.Estimate
	step *Step
}

// points reads a motor's shifts in steps.
func (b *branch) points(corner law.Corner, steps []*Step) ([]point, error) {
	var points []point
	in := readings{e: b.e}
	for _, s := range steps {
		y := in.shiftBeyond(in.wheel(corner, s), s, b.base)
		turn := float64(s.Turn(b.p))
		if turn == 0 {
			turn = 1
		}
		points = append(points, point{b.acting(s.Demand-s.YawRate) * turn * s.Gain, y, s})
	}
	return points, in.err
}

// acting returns what a yaw error exceeds the policy's dead band by.
func (b *branch) acting(yawError float64) float64 {
	band := 0.0
	if b.p.DeadBand != nil {
		band = *b.p.DeadBand
	}
	return math.Copysign(max(math.Abs(yawError)-band, 0), yawError)
}

// slope fits a straight line through the origin by least squares.
func slope(points []point) (k measure.Estimate, ok bool) {
	xx, xy := 0.0, 0.0
	var terms []measure.Term
	for _, p := range points {
		xx += float64(p.x * p.x)
		xy += float64(p.x * p.y.Value)
	}
	if !(xx > 0) {
		return k, false
	}
	for _, p := range points {
		terms = append(terms, measure.Term{Of: p.y, Slope: p.x / xx})
	}
	return measure.Combine(xy/xx, terms...), true
}

// fewestErrors is how many different yaw errors a line takes: through the
// origin and two points there may be a bend.
const fewestErrors = 3

// onLine judges a motor's largest distance from its line as a share of its
// largest shift, within that share; 0 stands for the dead shift.
func (b *branch) onLine(name string, corner law.Corner, steps []*Step, within float64) Result {
	points, err := b.points(corner, steps)
	if err != nil {
		return unjudged(name, err)
	}
	k, ok := slope(points)
	if n := b.differentErrors(steps); !ok || n < fewestErrors {
		return unjudged(name, b.s.undecided("the steps hold %d different yaw errors; hold at least %d", n, fewestErrors))
	}
	far, largest := points[0], points[0]
	off := func(p point) float64 { return p.y.Value - float64(k.Value*p.x) }
	for _, p := range points[1:] {
		if !(math.Abs(off(p)) <= math.Abs(off(far))) {
			far = p
		}
		if !(math.Abs(p.y.Value) <= math.Abs(largest.y.Value)) {
			largest = p
		}
	}
	if r, is := hardlyShifted(name, corner, largest.y, b.e.deadShift(), largest.step, b.base); is {
		return r
	}
	est := measure.Combine(off(far), measure.Term{Of: far.y, Slope: 1}, measure.Term{Of: k, Slope: -far.x})
	allowed := b.e.deadShift()
	if within != 0 {
		allowed = within * math.Abs(largest.y.Value)
	}
	limit := measure.Within(0, allowed)
	r := found(name, "largest distance of "+string(corner)+" from a straight line", est, nil, limit, far.step)
	return r.explained(fmt.Sprintf("%s shifts by %s in %q; the line through its other shifts says %s, within %s", corner, share(far.y.Value), far.step.Name, share(float64(k.Value*far.x)), share(allowed)),
		remedy(est, limit, shorter(far.step, b.base), percent, " %"))
}

// alike returns the case's steps that hold what the judged one does but for the
// yaw rate, all in one branch of the split, in order of the yaw error's size.
func (b *branch) alike() []*Step {
	var steps []*Step
	want := splitFor(b.p, b.s)
	for i := range b.e.Steps {
		s := &b.e.Steps[i]
		if s.Baseline || !s.sound() || s.Swept || s.Moving || len(s.Changes) > 0 || want == nil || splitFor(b.p, s) != want {
			continue
		}
		if s.Speed == b.s.Speed && s.Steer == b.s.Steer && s.Gain == b.s.Gain && s.Throttle == b.s.Throttle {
			steps = append(steps, s)
		}
	}
	slices.SortStableFunc(steps, func(x, y *Step) int {
		return cmp.Compare(math.Abs(x.Demand-x.YawRate), math.Abs(y.Demand-y.YawRate))
	})
	return steps
}

// proportional asks for the shifts over the yaw errors of the case's steps: on a
// straight line through the origin, and as steep as declared.
func (b *branch) proportional() []ask {
	steps := b.alike()
	if len(steps) == 0 {
		return b.notAsked("the policy asks for no shift in this step; hold a yaw error")
	}
	var err error
	if n := b.differentErrors(steps); n < fewestErrors {
		err = b.s.undecided("the steps hold %d different yaw errors; hold at least %d", n, fewestErrors)
	}
	var all []ask
	for _, m := range moving(splitFor(b.p, b.s)) {
		name := b.name(string(m.corner) + " on a line")
		all = append(all, asking(name, func(b *branch) Result { return b.onLine(name, m.corner, steps, b.p.ShiftAt.Within) }).orUnshown(err))
		name = b.name(string(m.corner) + " as steep as declared")
		all = append(all, asking(name, func(b *branch) Result { return b.steep(name, m, steps) }).orUnshown(err))
	}
	return all
}

// differentErrors counts the yaw errors that are held in steps and beyond the dead band.
func (b *branch) differentErrors(steps []*Step) int {
	var different []float64
	for _, s := range steps {
		if x := b.acting(s.Demand-s.YawRate) * s.Gain; x != 0 && !slices.Contains(different, x) {
			different = append(different, x)
		}
	}
	return len(different)
}

// steep judges a motor's slope by the shift that its line has where the policy
// declares it.
func (b *branch) steep(name string, m side, steps []*Step) Result {
	points, err := b.points(m.corner, steps)
	if err != nil {
		return unjudged(name, err)
	}
	k, _ := slope(points)
	at := b.p.ShiftAt
	x := b.acting(at.Error) * at.Gain
	if points[len(points)-1].x < 0 {
		x = -x
	}
	want := at.Is
	if m.is == Lowered {
		want = -want
	}
	est := measure.Combine(float64(k.Value*x), measure.Term{Of: k, Slope: x})
	allowed := math.Abs(want) * at.Within
	limit := measure.Within(want, allowed)
	r := found(name, fmt.Sprintf("shift of %s at %s deg/s and a gain of %s, by its line", m.corner, degrees(at.Error), share(at.Gain)), est, nil, limit, b.s)
	return r.explained(fmt.Sprintf("the line of %s comes to %s ± %s at %s deg/s and a gain of %s; the policy declares %s, within %s", m.corner, share(est.Value), share(est.Expanded()), degrees(at.Error), share(at.Gain), share(want), share(allowed)),
		remedy(est, limit, shorter(b.s, b.base), percent, " %"))
}
