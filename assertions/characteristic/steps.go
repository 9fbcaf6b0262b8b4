package characteristic

import (
	"fmt"
	"math"

	"hilrig/assertions/measure"
)

// delay is the mean time from a step of throttle to the first answer.
func (j *judge) delay() Figure {
	return j.times(KeyDelay, "delay of a step", 1, func(s *Step) (value, standard float64) { return s.Delay, s.DelayStandard })
}

// rise is the mean time from 10 % to 90 % of the change that a step makes.
func (j *judge) rise() Figure {
	return j.times(KeyRiseTime, "10 % to 90 % time of a step", 2, func(s *Step) (value, standard float64) { return s.Rise, s.RiseStandard })
}

// times is the mean of a time of all steps, by Student's t. Its ends, so many, each lie anywhere alike between two readings
// (JCGM 100, 4.3.7): which does not fall with more steps, as those may meet the readings alike.
func (j *judge) times(key, quantity string, ends float64, of func(s *Step) (value, standard float64)) Figure {
	var values []float64
	square := 0.0
	known := true
	every := 0.0
	for i := range j.set.Steps {
		every = max(every, j.set.Steps[i].Every)
		value, standard := of(&j.set.Steps[i])
		if !finite(value) || value < 0 {
			continue
		}
		values = append(values, value)
		known = known && standard > 0 && finite(standard)
		square += float64(standard * standard)
	}
	n := len(values)
	switch {
	case len(j.set.Steps) == 0:
		return unmeasured(key, quantity, "s", "no step was played")
	case n < len(j.set.Steps):
		return unmeasured(key, quantity, "s", fmt.Sprintf("%d of %d steps had no answer that can be timed", len(j.set.Steps)-n, len(j.set.Steps)))
	case n == 1 && !known:
		return unmeasured(key, quantity, "s", "one step, whose uncertainty is not known: three or more say it")
	}
	e := measure.MeanOfRepeats(values, 0)
	if own := math.Sqrt(square) / float64(n); known && own > e.Statistical {
		// What each time knows of itself is more than their spread shows.
		e.Statistical, e.DegreesOfFreedom = own, 0
	}
	why := fmt.Sprintf("mean of %d steps", n)
	if every > 0 {
		e.Systematic = every * math.Sqrt(ends/12)
		why = join(why, fmt.Sprintf("a reading every %.3g ms", 1e3*every))
	}
	i := e.Interval()
	i.Low = max(i.Low, 0)
	return measured(key, quantity, "s", e.Value, i, math.NaN(), why)
}

// fullOutput is the output at the highest level of the range, with what scales and shifts all
// readings alike.
func (j *judge) fullOutput() Figure {
	const quantity = "full output"
	switch {
	case !j.set.Absolute:
		return unmeasured(KeyFullOutput, quantity, j.set.Unit, "outputs are not absolute torque")
	case j.set.Drag == nil:
		return unmeasured(KeyFullOutput, quantity, j.set.Unit, "drag is not known"+because(j.set.DragWhy))
	case len(j.x) == 0:
		return unmeasured(KeyFullOutput, quantity, j.set.Unit, j.noPoints)
	case j.noNoise != "":
		return unmeasured(KeyFullOutput, quantity, j.set.Unit, j.noNoise)
	}
	averages := make([]float64, len(j.x))
	j.averages(averages, j.y)
	last := len(j.x) - 1
	variance, parts := 0.0, 0.0
	for _, d := range []Direction{Up, Down} {
		if c := j.cells[[2]int{j.at[last], int(d)}]; c != nil {
			variance += c.variance / float64(len(c.outputs))
			parts++
		}
	}
	e := measure.Estimate{
		Value:            averages[last],
		Statistical:      math.Sqrt(variance) / parts,
		Systematic:       measure.RootSumSquare(float64(j.set.Scale*averages[last]), j.set.Offset, j.set.Drag.Standard(), (j.steps(j.pooled)+j.set.Common)/math.Sqrt(12)),
		DegreesOfFreedom: float64(j.degrees),
	}
	why := "at " + percent(j.x[last])
	if end := len(j.set.Levels) - 1; j.at[last] != end {
		why = join(why, percent(j.set.Levels[end])+" was not read")
	}
	return measured(KeyFullOutput, quantity, j.set.Unit, e.Value, e.Interval(), j.x[last], why)
}
