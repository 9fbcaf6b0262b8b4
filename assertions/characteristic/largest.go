package characteristic

import (
	"fmt"
	"math"

	"hilrig/assertions/measure"
)

// fewestLevels is of the range, for its linearity to be judged.
const fewestLevels = 8

var linearityFigures = [...]struct {
	key, quantity string
	line          func(x, y []float64) (measure.Straight, bool)
}{
	Independent:   {KeyIndependent, "independent linearity", measure.IndependentLine},
	LeastSquares:  {KeyLeastSquares, "least squares linearity", measure.LeastSquaresLine},
	TerminalBased: {KeyTerminalBased, "terminal-based linearity", measure.TerminalLine},
	ZeroBased:     {KeyZeroBased, "zero-based linearity", measure.ZeroBasedLine},
}

// linearity is the largest deviation of the averages of up and down readings from a straight
// line, as a share of span.
func (j *judge) linearity(sense Sense) Figure {
	of := linearityFigures[sense]
	switch {
	case j.noRange != "":
		return unmeasured(of.key, of.quantity, "", j.noRange)
	case len(j.x) < fewestLevels:
		return unmeasured(of.key, of.quantity, "", fmt.Sprintf("%s: linearity wants %d or more", j.over(), fewestLevels))
	case sense == ZeroBased && j.set.Drag == nil:
		return unmeasured(of.key, of.quantity, "", "where the output is 0 is not known"+because(j.set.DragWhy))
	}
	averages := make([]float64, len(j.x))
	deviation := func(y []float64) float64 {
		j.averages(averages, y)
		s, _ := of.line(j.x, averages)
		return s.Largest
	}
	b := measure.Relative{Seminorm: deviation, Size: span}.Bound(j.y, j.errors)
	j.averages(averages, j.y)
	s, _ := of.line(j.x, averages)
	return measured(of.key, of.quantity, "", b.Estimate, b.Interval, j.x[s.At], j.over())
}

// hysteresis is the largest difference between the means from below and from above at one level,
// as a share of span.
func (j *judge) hysteresis() Figure {
	const quantity = "hysteresis"
	switch {
	case j.noRange != "":
		return unmeasured(KeyHysteresis, quantity, "", j.noRange)
	case !j.bothWays():
		return unmeasured(KeyHysteresis, quantity, "", "levels were approached from one direction only")
	}
	most := func(y []float64) (most float64, at int) {
		for i := range j.x {
			if u, d := j.up[i], j.down[i]; u >= 0 && d >= 0 {
				if apart := math.Abs(y[u] - y[d]); apart > most {
					most, at = apart, i
				}
			}
		}
		return most, at
	}
	b := measure.Relative{Seminorm: func(y []float64) float64 { m, _ := most(y); return m }, Size: span}.Bound(j.y, j.errors)
	_, at := most(j.y)
	return measured(KeyHysteresis, quantity, "", b.Estimate, b.Interval, j.x[at], j.over())
}

// repeatability is two sample standard deviations of readings of one level from one direction
// (non-repeatability; ISA-51.1 and IEC 61298-2 take the largest spread, from memory, which grows with the
// number of cycles: two deviations do not). It is pooled over the levels, and that of one
// level where readings lie farther apart there than elsewhere, significantly.
func (j *judge) repeatability() Figure {
	const quantity = "repeatability, two standard deviations"
	switch {
	case j.noSpan != "":
		return unmeasured(KeyRepeatability, quantity, "", j.noSpan)
	case j.degrees == 0:
		return unmeasured(KeyRepeatability, quantity, "", "no level was read twice from one direction")
	}
	deviation, degrees, at := math.Sqrt(j.pooled), j.degrees, math.NaN()
	why := fmt.Sprintf("pooled, %d degrees of freedom", degrees)
	for _, c := range j.erratic {
		if own := math.Sqrt(variance(c)); own > deviation {
			deviation, degrees, at = own, len(c.outputs)-1, j.set.Levels[c.level]
			why = fmt.Sprintf("at %s %s, where %d readings lie farther apart than elsewhere", percent(at), c.direction, len(c.outputs))
		}
	}
	low, high := chiSquareWithin(degrees, measure.Confidence)
	share := 2 * deviation / j.span
	return measured(KeyRepeatability, quantity, "", share, measure.Interval{Low: share / low, High: share / high}, at, why)
}

// drift is by how much the first point, read again after all others, is higher than at first, as a
// share of span. Where it was read more than once both times, what lies apart in a row says how large noise is:
// the spread of the cycles has the drift in it.
func (j *judge) drift() Figure {
	const quantity = "drift of the first point"
	switch {
	case j.noSpan != "":
		return unmeasured(KeyDrift, quantity, "", j.noSpan)
	case len(j.set.Repeated) == 0:
		return unmeasured(KeyDrift, quantity, "", "the first point was not read again at the end")
	}
	if len(j.set.First) > 0 {
		return j.driftOfGroups(quantity)
	}
	sum, variance, n := 0.0, 0.0, 0
	at := math.NaN()
	var last *cell
	alike := 0 // readings so far that are held against the same first one
	for i := range j.set.Repeated {
		r := &j.set.Repeated[i]
		if !j.set.usable(r) {
			continue
		}
		c := j.cells[[2]int{r.Level, int(r.Direction)}]
		if c == nil {
			c = j.cells[[2]int{r.Level, int(Down - r.Direction)}]
		}
		if c == nil {
			continue
		}
		sum += r.Output - j.set.Readings[c.first].Output
		if c != last {
			last, alike = c, 0
		}
		// The first reading is in each difference: its errors add up, those of the others do not.
		variance += float64((1 + float64(2*alike+1)) * c.variance)
		alike++
		at, n = j.set.Levels[r.Level], n+1
	}
	if n == 0 {
		return unmeasured(KeyDrift, quantity, "", "the first point was not read both at first and at the end")
	}
	e := measure.Estimate{
		Value: sum / float64(n) / j.span, Statistical: math.Sqrt(variance) / float64(n) / j.span,
		Systematic: j.steps(j.pooled) * math.Sqrt(2.0/12) / j.span, DegreesOfFreedom: float64(j.degrees),
	}
	return measured(KeyDrift, quantity, "", e.Value, e.Interval(), at, fmt.Sprintf("at %s", percent(at)))
}

// driftOfGroups is the mean of Repeated less that of First.
func (j *judge) driftOfGroups(quantity string) Figure {
	var mean, own [2]float64
	var counts [2]int
	square, degrees, known := 0.0, 0, true
	at := math.NaN()
	for i, list := range [][]Reading{j.set.First, j.set.Repeated} {
		var outputs []float64
		for k := range list {
			r := &list[k]
			if !j.set.usable(r) {
				continue
			}
			outputs = append(outputs, r.Output)
			own[i] += float64(r.Standard * r.Standard)
			known = known && r.Standard > 0
			at = j.set.Levels[r.Level]
		}
		n := len(outputs)
		if n == 0 {
			return unmeasured(KeyDrift, quantity, "", "the first point was not read both at first and at the end")
		}
		for _, y := range outputs {
			mean[i] += y / float64(n)
		}
		for _, y := range outputs {
			square += float64((y - mean[i]) * (y - mean[i]))
		}
		own[i] /= float64(n)
		counts[i], degrees = n, degrees+n-1
	}
	spread := 1/float64(counts[0]) + 1/float64(counts[1])
	e := measure.Estimate{
		Value:      (mean[1] - mean[0]) / j.span,
		Systematic: j.steps(j.pooled) * math.Sqrt(2.0/12) / j.span,
	}
	if degrees > 0 {
		e.Statistical, e.DegreesOfFreedom = math.Sqrt(square/float64(degrees)*spread)/j.span, float64(degrees)
	}
	byOwn := math.Sqrt(own[0]/float64(counts[0])+own[1]/float64(counts[1])) / j.span
	switch {
	case known && byOwn > e.Statistical: // what each reading knows of itself is more than their spread shows
		e.Statistical, e.DegreesOfFreedom = byOwn, 0
	case degrees == 0 && !known:
		e.Statistical, e.DegreesOfFreedom = math.Sqrt(j.pooled*spread)/j.span, float64(j.degrees)
	}
	return measured(KeyDrift, quantity, "", e.Value, e.Interval(), at, fmt.Sprintf("at %s", percent(at)))
}
