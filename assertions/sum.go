package assertions

import (
	"cmp"
	"fmt"

	"hilrig/assertions/measure"
	"hilrig/plant"
	"hilrig/rig/trace"
)

// judge returns one result.
func (c SumKept) judge(e *Evidence) []Result {
	s, base, err := e.stepAndBaseline(c.Step)
	if err != nil {
		return []Result{unjudged("sum kept", err)}
	}
	return []Result{e.sumKept("sum kept", measure.Within(0, cmp.Or(c.Within, e.deadShift())), s, base)}
}

// sumKept judges whether the four shifts cancel, but for a limit, which holds 0.
func (e *Evidence) sumKept(name string, limit Limit, s, base *Step) Result {
	before, err := e.sumMean(base)
	now, too := e.sumMean(s)
	est := measure.Difference(now, before)
	r := found(name, "change of the sum of the four commands", est, cmp.Or(err, too), limit, s)
	return r.explained(fmt.Sprintf("the four commands together should stay as in the baseline, but their sum moved by %s ± %s of one motor's range, more than %s: the split changes the car's total drive",
		share(est.Value), share(est.Expanded()), share(max(limit.High, -limit.Low))),
		e.remedy(est, limit, shorter(s, base), percent, " %"))
}

// sumMean estimates the mean of the four commands' sum in a step's window. The sum is taken command by command of the
// motor that has fewest, with what the others are commanded at that time: what one motor is raised by as another is
// lowered does not spread it. Where all sums lie as close as four commands are that each go to and fro within one of the firmware's
// steps, however slowly, what their spread leaves open is at most how far the least lies from the most.
func (e *Evidence) sumMean(s *Step) (measure.Estimate, error) {
	in := readings{e: e}
	var frames [4][]trace.Frame
	var systematic []float64
	least, off := 0, 0.0
	for i, w := range plant.Wheels {
		mean := in.mean(w, s)
		if in.err != nil {
			return measure.Estimate{}, in.err
		}
		systematic = append(systematic, mean.Systematic)
		frames[i] = withoutUncertain(e.frames(w, s))
		off += mean.Value - measure.Describe(valuesOf(frames[i])).Mean
		if len(frames[i]) < len(frames[least]) {
			least = i
		}
	}
	sums := make([]float64, len(frames[least]))
	var next [4]int
	for k, f := range frames[least] {
		for i := range frames {
			next[i] = nearestFrom(frames[i], next[i], f.End)
			sums[k] += frames[i][next[i]].Value
		}
	}
	sum := measure.MeanOf(batched(sums), measure.RootSumSquare(systematic...)).OfCoarse(sums, 4*e.CommandStep, 4*e.coarse())
	sum.Value += off
	return sum, nil
}

// batches is into how many parts a window is divided whose means count as readings: commands that follow
// on each other closely all move with the same pulse of the receiver, and smoothly where they are filtered, which
// their correlation from one to the next tells nothing of. Batch means are common practice, no source.
const batches = 32

// batched returns the means of equal parts of x, which leave out a few of the first; x itself where it is not much longer.
func batched(x []float64) []float64 {
	each := len(x) / batches
	if each < 2 {
		return x
	}
	means := make([]float64, batches)
	x = x[len(x)-batches*each:]
	for i := range means {
		means[i] = measure.Describe(x[i*each : (i+1)*each]).Mean
	}
	return means
}
