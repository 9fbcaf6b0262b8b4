package assertions

import (
	"fmt"
	"math"

	"hilrig/assertions/law"
	"hilrig/assertions/measure"
	"hilrig/plant"
)

const (
	// levelKnown is how well a level of the throttle curve has to be read, share of range; the
	// check's own definition.
	levelKnown = 0.02
	// fewestLevels is how many levels make a curve; the check's own definition.
	fewestLevels = 5
)

// curveKnown says whether it is known what the firmware makes of the throttle, or will be once a case is
// played: nothing, or what is measured at the beginning of a run.
func (e *Evidence) curveKnown() bool {
	switch e.policy().ThrottleCurve {
	case law.ThrottleCurveNone:
		return true
	case law.ThrottleCurveCalibrated:
		return e.Curve != nil || e.NoCurve == "" && e.Trace == nil
	}
	return false
}

// unshiftedAt returns what each motor is commanded with no shift at a throttle: by the measured curve, else
// the throttle itself.
func (e *Evidence) unshiftedAt(throttle float64) (all [4]Limit) {
	if e.Curve != nil {
		return e.Curve.At(throttle)
	}
	for i := range all {
		all[i] = between(throttle, throttle)
	}
	return all
}

// knownUnshifted returns what a motor is surely commanded with no shift at a throttle, cap and floor aside: anything
// where the policy does not tell what the firmware makes of the throttle.
func (e *Evidence) knownUnshifted(w int, throttle float64) Limit {
	if !e.curveKnown() {
		return between(e.Lowest, 1)
	}
	u, apart := e.unshiftedAt(throttle)[w], e.offBy()
	if equal := e.policy().MotorsEqualWithin; equal != nil && e.Curve == nil {
		apart += *equal
	}
	return between(u.Low-apart, u.High+apart)
}

// rise returns by how much a motor is commanded more with no shift at another throttle.
func (e *Evidence) rise(w int, from, to float64) Limit {
	if from == to {
		return Limit{}
	}
	a, b := e.unshiftedAt(from)[w], e.unshiftedAt(to)[w]
	return between(b.Low-a.High, b.High-a.Low)
}

// throttleCurve asks whether what each motor is commanded over the throttle can be told: in every step of the case,
// each of which holds another throttle with nothing shifted.
func (b *branch) throttleCurve() []ask {
	var err error
	if len(b.e.Steps) < fewestLevels {
		err = b.s.undecided("the case has %d steps, and a curve takes %d throttles from idle to full; add some", len(b.e.Steps), fewestLevels)
	}
	return asks(plant.Wheels[:], func(w plant.Wheel) ask {
		name := b.name(w.String() + " measured")
		return asking(name, func(b *branch) Result { return b.levels(name, w) }).orUnshown(err)
	})
}

// levels judges how well the worst level of a motor is known.
func (b *branch) levels(name string, w plant.Wheel) Result {
	var worst measure.Estimate
	at, l := &b.e.Steps[0], b.e.law()
	for i := range b.e.Steps {
		s := &b.e.Steps[i]
		est, err := b.e.mean(w, s)
		if err != nil {
			return unjudged(name, err)
		}
		if i == 0 || est.Expanded() > worst.Expanded() && !b.e.perhapsCapped(l, w, s) {
			worst, at = est, s
		}
	}
	u := worst.Expanded()
	r := judged(Result{Name: name, Step: at.Name, At: at.From}, Measurement{
		Quantity: "half-width of the worst known level of " + w.String(), Unit: "%", Estimate: u * percent, Low: u * percent, High: u * percent, Limit: AtMost(levelKnown * percent),
	})
	why := fmt.Sprintf("%s stands at %s, known to ±%s only, with the throttle held at %s and nothing to be shifted: its commands do not keep still", w, share(worst.Value), share(u), share(at.Throttle))
	return r.explained(why, why)
}

// perhapsCapped says whether a motor stands where by the law its cap may hold or not, from the cap on: with the
// steering as near to the angle from which on it holds as that is read, it may come and go.
func (e *Evidence) perhapsCapped(l *law.Law, w plant.Wheel, s *Step) bool {
	in := e.meant(s)
	a := l.At(&in)
	if !(a.Highest.Low < a.Highest.High) {
		return false
	}
	for _, f := range e.frames(w, s) {
		if !(f.Value+f.Uncertainty >= a.Highest.Low-e.offBy()) {
			return false
		}
	}
	return true
}

// perhapsSummed says whether four motors that stand somewhere in these may be cut for what they come to together.
func (e *Evidence) perhapsSummed(level *[4]Limit) bool {
	most := e.policy().SumCap
	if most == nil {
		return false
	}
	sum := 0.0
	for _, x := range level {
		sum += x.High
	}
	return sum >= *most-4*e.offBy()
}

// offBy returns by how much a command may be off by the policy: its resolution, at least one step.
func (e *Evidence) offBy() float64 {
	if r := e.policy().Resolution; r != nil {
		return max(e.CommandStep, *r)
	}
	return e.CommandStep
}

// coarse returns within what range commands that go to and fro, however slowly, are known to stay: a step of the policy's
// resolution, and where it has none what counts as no shift, since firmware with coarser steps would shift by them.
func (e *Evidence) coarse() float64 {
	if e.policy().Resolution == nil {
		return max(e.CommandStep, e.deadShift())
	}
	return e.offBy()
}

// MeasureCurve returns what the motors are commanded with no shift over the throttle, as the steps of a case tell
// that each hold one with nothing shifted. Between two of them it is as straight as their neighbours say. Where a
// motor stands at its cap or its floor it may be meant to stand beyond, and so may all where the four together stand at the
// cap of their sum. Below the lowest throttle that was held anything may be commanded. ok is false where a level could not
// be read.
func MeasureCurve(e *Evidence) (c *law.Curve, ok bool) {
	c = &law.Curve{}
	l, lowest, near := e.law(), e.Lowest, e.offBy()
	var highest, least []float64 // from where on a motor may stand at its cap, or its floor
	var summed []bool            // the four may be cut for what they come to together
	for i := range e.Steps {
		s := &e.Steps[i]
		if n := len(c.Throttle); n > 0 && !(s.Throttle > c.Throttle[n-1]) {
			return nil, false
		}
		in := e.meant(s)
		a := l.At(&in)
		var level [4]Limit
		var stood [4]float64
		for w := range level {
			est, err := e.mean(plant.Wheel(w), s)
			level[w], stood[w] = est.Interval(), est.Value
			switch {
			case err != nil:
				return nil, false
			case est.Expanded() <= levelKnown:
			case e.perhapsCapped(l, plant.Wheel(w), s):
				level[w] = between(a.Highest.Low-near, 1)
			default:
				return nil, false
			}
		}
		c.Throttle, c.Motors, c.Stood = append(c.Throttle, s.Throttle), append(c.Motors, level), append(c.Stood, stood)
		highest, least = append(highest, a.Highest.Low-near), append(least, a.Lowest.High+near)
		summed = append(summed, e.perhapsSummed(&level))
	}
	if len(c.Throttle) < fewestLevels {
		return nil, false
	}
	widenBends(c)
	for k := range c.Motors {
		for w := range c.Motors[k] {
			x := &c.Motors[k][w]
			if x.High >= highest[k] || summed[k] {
				x.High = 1
			}
			if x.Low <= least[k] && least[k] > lowest+near {
				x.Low = lowest
			}
		}
	}
	below := c.Motors[0]
	for w := range below {
		below[w].Low = min(below[w].Low, lowest)
	}
	c.Throttle = append([]float64{c.Throttle[0] - 1e-6}, c.Throttle...)
	c.Motors = append([][4]Limit{below}, c.Motors...)
	c.Stood = append([][4]float64{c.Stood[0]}, c.Stood...)
	return c, true
}

// widenBends widens each level by what the curve may bend away from straight lines between levels.
func widenBends(c *law.Curve) {
	n := len(c.Throttle)
	var middle [][4]float64
	for _, m := range c.Motors {
		var x [4]float64
		for w := range m {
			x[w] = middleOf(m[w])
		}
		middle = append(middle, x)
	}
	// The largest distance of a parabola from its chord is an eighth of the second difference.
	bend := func(k, w int) float64 {
		if k < 1 || k > n-2 {
			return 0
		}
		a, b := c.Throttle[k]-c.Throttle[k-1], c.Throttle[k+1]-c.Throttle[k]
		up, down := (middle[k+1][w]-middle[k][w])/b, (middle[k][w]-middle[k-1][w])/a
		return math.Abs(up-down) * max(a, b) / 4
	}
	for k := range c.Motors {
		for w := range c.Motors[k] {
			by := max(bend(k-1, w), bend(k, w), bend(k+1, w))
			c.Motors[k][w].Low -= by
			c.Motors[k][w].High += by
		}
	}
}
