package characteristic

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"hilrig/assertions/measure"
)

// startThreshold is the command from which the output is more than 0. Each search from rest
// brackets it between a command at which the shaft stood still and one at which it moved; without a
// search, the readings bracket it between two levels.
func (j *judge) startThreshold() Figure {
	const quantity = "start threshold"
	if j.set.Drag == nil {
		return unmeasured(KeyStartThreshold, quantity, "", "where the output is 0 is not known"+because(j.set.DragWhy))
	}
	if len(j.set.Starts) == 0 {
		return j.startByLevels()
	}
	var below, moved []float64
	for _, s := range j.set.Starts {
		b, m := math.Abs(s.Below), math.Abs(s.Level)
		if finite(b) && finite(m) && b <= m {
			below, moved = append(below, b), append(moved, m)
		}
	}
	if len(moved) == 0 {
		return unmeasured(KeyStartThreshold, quantity, "", "no search found a level that moves the shaft above one that does not")
	}
	i := measure.Interval{Low: slices.Min(below), High: slices.Max(moved)}
	middle := (measure.Describe(below).Mean + measure.Describe(moved).Mean) / 2
	return measured(KeyStartThreshold, quantity, "", middle, i, middle, fmt.Sprintf("by %d searches from rest", len(moved)))
}

// startByLevels brackets the start threshold between the lowest level whose output is above 0
// significantly, with all above it, and the level below that.
func (j *judge) startByLevels() Figure {
	const quantity = "start threshold"
	if j.noRange != "" {
		return unmeasured(KeyStartThreshold, quantity, "", j.noRange)
	}
	averages := make([]float64, len(j.x))
	j.averages(averages, j.y)
	uncertainty := j.uncertainty()
	common := measure.CoverageFactor(math.Inf(1)) * measure.RootSumSquare(j.set.Drag.Standard(), j.set.Offset)
	first := len(j.x)
	for first > 0 && j.x[first-1] > 0 && averages[first-1] > uncertainty+common {
		first--
	}
	if first == len(j.x) {
		return unmeasured(KeyStartThreshold, quantity, "", "no level gives an output significantly above 0")
	}
	i := measure.Interval{Low: 0, High: j.x[first]}
	if k := j.at[first] - 1; k >= 0 {
		i.Low = max(j.set.Levels[k], 0)
	}
	if first == 0 { // levels below were not read: it is between 0 and here
		i.Low = 0
	}
	middle := (i.Low + i.High) / 2
	return measured(KeyStartThreshold, quantity, "", middle, i, i.High, "by the readings of levels, "+j.over())
}

// uncertainty is how far averages of levels may be apart by noise alone: the quantile of the range of
// their errors, so that no two of them are farther apart.
func (j *judge) uncertainty() float64 {
	averages := make([]float64, len(j.x))
	apart := func(y []float64) float64 {
		j.averages(averages, y)
		return span(averages)
	}
	return measure.Relative{Seminorm: apart}.Bound(make([]float64, len(j.y)), j.errors).Noise
}

// deadBand is the change of command on reversal, as a share of the span of input, that the output
// does not follow.
func (j *judge) deadBand() Figure {
	return j.change(KeyDeadBand, "dead band", true)
}

// resolution is the least change of command in the same direction that the output follows, at the level
// where it has to be largest.
func (j *judge) resolution() Figure {
	return j.change(KeyResolution, "resolution", false)
}

// significant is by how many expanded uncertainties a change of output has to differ from none to be
// significant: many are tried, and the least is taken.
const significant = 1.5

// changed is what changes of command of one size from one level came to.
type changed struct {
	level, change float64 // change >= 0
	sign          float64
	sum, square   float64 // of changes of output along the command, and of their standard uncertainties
	n             int
}

// change brackets the change of command that the output does not follow, at the level where
// it is largest: between the largest change that had significantly less than half the effect that the slope
// there lets expect, and the least from which on changes significantly had that much.
func (j *judge) change(key, quantity string, reversal bool) Figure {
	if j.noRange != "" {
		return unmeasured(key, quantity, "", j.noRange)
	}
	groups, why := j.changes(reversal)
	if why != "" {
		return unmeasured(key, quantity, "", why)
	}
	input := j.set.Levels[len(j.set.Levels)-1] - j.set.Levels[0]
	over := measure.Interval{Low: 0, High: 0}
	at, open, flat := math.NaN(), false, 0
	for len(groups) > 0 {
		n := 1
		for n < len(groups) && groups[n].level == groups[0].level && groups[n].sign == groups[0].sign {
			n++
		}
		low, high, sloped := j.bracket(groups[:n])
		level := groups[0].level
		groups = groups[n:]
		if !sloped {
			flat++
			continue
		}
		if math.IsInf(high, 1) {
			high, open = input, true
		}
		if high > over.High || math.IsNaN(at) {
			at = level
		}
		over.Low, over.High = max(over.Low, low), max(over.High, high)
	}
	switch {
	case math.IsNaN(at):
		return unmeasured(key, quantity, "", "what small changes of command do cannot be seen through noise, or the characteristic is flat where they were played")
	case open:
		why = fmt.Sprintf("at %s no change that was played was followed significantly", percent(at))
	}
	if flat > 0 {
		why = join(why, fmt.Sprintf("left out where the characteristic is flat: %d", flat))
	}
	over = measure.Interval{Low: min(over.Low/input, 1), High: min(over.High/input, 1)}
	return measured(key, quantity, "", (over.Low+over.High)/2, over, at, why)
}

// changes sums up the small changes by level, sign and size, ascending.
func (j *judge) changes(reversal bool) (groups []changed, why string) {
	at := map[[2]float64]int{}
	for _, f := range j.set.Fine {
		if f.Reversal != reversal || f.Change == 0 || !finite(f.Level) || !finite(f.Change) || !finite(f.Output) || !finite(f.Before) || !finite(f.Standard) {
			continue
		}
		key := [2]float64{f.Level, f.Change}
		i, ok := at[key]
		if !ok {
			i = len(groups)
			at[key] = i
			groups = append(groups, changed{level: f.Level, change: math.Abs(f.Change), sign: math.Copysign(1, f.Change)})
		}
		g := &groups[i]
		g.sum += float64(g.sign * (f.Output - f.Before))
		if f.Standard > 0 {
			g.square += float64(f.Standard * f.Standard)
		} else {
			g.square += float64(2 * j.pooled)
		}
		g.n++
	}
	if len(groups) == 0 {
		return nil, cmp.Or(j.set.FineWhy, "no small changes of command were played")
	}
	slices.SortFunc(groups, func(a, b changed) int {
		return cmp.Or(cmp.Compare(a.level, b.level), cmp.Compare(a.sign, b.sign), cmp.Compare(a.change, b.change))
	})
	return groups, ""
}

// bracket returns what the changes from one level, ascending, say: the largest without effect, 0
// where none is known to be, and the least from which on all have one, +Inf where none has. sloped is
// false where no effect was to be expected.
func (j *judge) bracket(groups []changed) (low, high float64, sloped bool) {
	high = math.Inf(1)
	all := true // so far, from the largest change down
	for _, g := range slices.Backward(groups) {
		effect := g.sum / float64(g.n)
		uncertainty := float64(significant*measure.CoverageFactor(j.degreesOfFreedom())*math.Sqrt(g.square)/float64(g.n)) + j.steps(j.pooled)
		expected := math.Abs(j.between(g.level+float64(g.sign*g.change)) - j.between(g.level))
		sloped = sloped || expected > uncertainty
		followed := math.Abs(effect) > uncertainty
		all = all && followed
		switch {
		case all:
			high = g.change
		case !followed && math.Abs(effect)+uncertainty < expected/2 && g.change < high:
			low = max(low, g.change)
		}
	}
	return low, high, sloped
}

// degreesOfFreedom returns the degrees of freedom of the spread, infinite where it is known.
func (j *judge) degreesOfFreedom() float64 {
	if j.degrees == 0 {
		return math.Inf(1)
	}
	return float64(j.degrees)
}

// between returns the average characteristic at a command, straight between levels, level beyond
// the ends.
func (j *judge) between(command float64) float64 {
	averages := make([]float64, len(j.x))
	j.averages(averages, j.y)
	return piecewise(j.x, averages, command)
}

// piecewise returns y at x straight between points, of which x ascends; beyond them, the end's.
func piecewise(xs, ys []float64, x float64) float64 {
	k, ok := slices.BinarySearch(xs, x)
	switch {
	case ok:
		return ys[k]
	case k == 0:
		return ys[0]
	case k == len(xs):
		return ys[k-1]
	}
	return ys[k-1] + float64((ys[k]-ys[k-1])*((x-xs[k-1])/(xs[k]-xs[k-1])))
}
