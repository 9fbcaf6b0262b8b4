package assertions

import (
	"errors"
	"fmt"
	"math"

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
	if r, is := b.e.hardlyShifted(name, corner, largest.y, b.e.deadShift(), largest.step, b.base); is {
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
		b.e.remedy(est, limit, shorter(far.step, b.base), percent, " %"))
}
