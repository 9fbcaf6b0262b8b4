package characteristic

import (
	"fmt"
	"math"

	"hilrig/assertions"
	"hilrig/assertions/measure"
)

// saturation is the command from which the output rises no more: between the lowest level above
// which no average is significantly higher, and the level below that.
func (j *judge) saturation() Figure {
	const quantity = "saturation point"
	if j.noRange != "" {
		return unmeasured(KeySaturation, quantity, "", j.noRange)
	}
	averages := make([]float64, len(j.x))
	j.averages(averages, j.y)
	k := top(averages, j.uncertainty())
	last := len(j.x) - 1
	switch {
	case k == 0:
		return unmeasured(KeySaturation, quantity, "", "the output rises nowhere")
	case k == last:
		i := measure.Interval{Low: j.x[last-1], High: j.x[last]}
		return measured(KeySaturation, quantity, "", i.High, i, i.High, fmt.Sprintf("the output still rises at %s; %s", percent(i.High), j.over()))
	}
	i := measure.Interval{Low: j.x[k-1], High: j.x[k]}
	return measured(KeySaturation, quantity, "", knee(j.x, averages, k), i, j.x[k], "the output rises no more above it; "+j.over())
}

// top returns the index of the first of y that none after it exceeds by more than the uncertainty.
func top(y []float64, uncertainty float64) int {
	k := len(y) - 1
	for most := y[k]; k > 0; k-- {
		if most = max(most, y[k-1]); most > y[k-1]+uncertainty {
			break
		}
	}
	return k
}

// knee returns the command at which a characteristic that is level from index k on meets the
// straight line of the two levels before: within the step before k, else k itself.
func knee(x, y []float64, k int) float64 {
	if k < 2 {
		return x[k]
	}
	level := measure.Describe(y[k:]).Mean
	slope := (y[k-1] - y[k-2]) / (x[k-1] - x[k-2])
	if at := x[k-1] + (level-y[k-1])/slope; at > x[k-1] && at < x[k] {
		return at
	}
	return x[k]
}

// monotone is the largest fall of the means from one direction as the command rises, as a
// share of span.
//
// That no fall is there at all can never be shown with certainty: it passes where none is significant
// and a fall as large as the output's mean rise from level to level would have been.
func (j *judge) monotone(asked bool) Figure {
	const quantity = "largest fall as the command rises"
	f := j.largestFall()
	f.Quantity = quantity
	if !asked {
		return decide(f, nil)
	}
	f.Limit = &measure.Interval{}
	rise := 1 / float64(max(len(j.x)-1, 1))
	switch {
	case !f.Measured():
		f.Verdict = assertions.Undecided
	case f.Low > 0:
		f.Verdict = assertions.Fail
	case f.High == 0:
		f.Verdict = assertions.Pass
		f.Why = join(f.Why, "each level is significantly higher than those before")
	case f.High < rise:
		f.Verdict = assertions.Pass
		f.Why = join(f.Why, fmt.Sprintf("no significant fall, one of up to %s could hide in noise", percent(f.High)))
	default:
		f.Verdict = assertions.Undecided
		f.Why = join(f.Why, fmt.Sprintf("a fall of up to %s could hide in noise, more than the mean rise from level to level", percent(f.High)))
	}
	return f
}

func (j *judge) largestFall() Figure {
	if j.noRange != "" {
		return unmeasured(KeyMonotone, "", "", j.noRange)
	}
	fall := func(y []float64) (most float64, at int) {
		for _, side := range [][]int{j.up, j.down} {
			highest := math.Inf(-1)
			for i, k := range side {
				if k < 0 {
					continue
				}
				highest = max(highest, y[k])
				if highest-y[k] > most {
					most, at = highest-y[k], i
				}
			}
		}
		return most, at
	}
	b := measure.Relative{Seminorm: func(y []float64) float64 { most, _ := fall(y); return most }, Size: span}.Bound(j.y, j.errors)
	place := math.NaN()
	if seen, at := fall(j.y); seen > 0 {
		place = j.x[at]
	}
	return measured(KeyMonotone, "", "", b.Estimate, b.Interval, place, j.over())
}

// tenth is the share of the range whose slope is held against the rest.
const tenth = 0.1

// firstTenth is the slope of the averages over the first tenth of the range, from 0 upwards, by the slope
// over the rest, each by least squares: 1 is even, more is a sharpened low end.
func (j *judge) firstTenth() Figure {
	const quantity = "slope over the first tenth by that over the rest"
	if j.noRange != "" {
		return unmeasured(KeyFirstTenth, quantity, "", j.noRange)
	}
	from := 0
	for from < len(j.x) && j.x[from] < 0 {
		from++
	}
	x := j.x[from:]
	if len(x) < 2 {
		return unmeasured(KeyFirstTenth, quantity, "", "fewer than two levels from 0 upwards")
	}
	end := x[0] + float64(tenth*(x[len(x)-1]-x[0]))
	n := 0
	for n < len(x) && x[n] <= end+1e-9 {
		n++
	}
	if n < 2 || len(x)-n < 1 {
		return unmeasured(KeyFirstTenth, quantity, "", fmt.Sprintf("the first tenth, up to %s, holds fewer than two levels: the plan wants levels closer together", percent(end)))
	}
	averages := make([]float64, len(j.x))
	rest := func(y []float64) float64 {
		j.averages(averages, y)
		return slopeOf(x[n-1:], averages[from+n-1:])
	}
	if i := measure.Quantiles(rest, j.y, j.errors); !(i.Low > 0 || i.High < 0) {
		return unmeasured(KeyFirstTenth, quantity, "", "over the rest the output does not change significantly")
	}
	ratio := func(y []float64) float64 {
		r := rest(y)
		return slopeOf(x[:n], averages[from:from+n]) / r
	}
	return measured(KeyFirstTenth, quantity, "", ratio(j.y), measure.Quantiles(ratio, j.y, j.errors), math.NaN(),
		fmt.Sprintf("first tenth up to %s, %d levels; %s", percent(x[n-1]), n, j.over()))
}

// slopeOf returns the slope of least squares.
func slopeOf(x, y []float64) float64 {
	n := float64(len(x))
	var meanX, meanY, product, square float64
	for i := range x {
		meanX += x[i] / n
		meanY += y[i] / n
	}
	for i := range x {
		product += float64((x[i] - meanX) * (y[i] - meanY))
		square += float64((x[i] - meanX) * (x[i] - meanX))
	}
	return product / square
}
