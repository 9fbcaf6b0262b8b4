package assertions

import (
	"fmt"

	"hilrig/assertions/measure"
)

// comparison is what a drive is compared with.
type comparison struct {
	words  string // "no board"
	phrase string // the same as part of a sentence
	of     func(e *Evidence) *Evidence
}

// comparisons are the words for Measured.BetterThan.
var comparisons = map[string]comparison{
	"off":      {"off", "with it off", func(e *Evidence) *Evidence { return e.Off }},
	"no_board": {"no board", "without a board", func(e *Evidence) *Evidence { return e.NoBoard }},
}

// better holds the figure against that of the same drives without the shift or
// without a board. The runs are compared pair by pair: both of a pair were driven
// over the same course.
func (c Measured) better(f figure, e *Evidence, values []float64, s *Step, err error) Result {
	than := comparisons[c.BetterThan]
	name := f.name + " better than " + than.words
	if c.By > 0 {
		name += " by " + share(c.By)
	}
	if err != nil {
		return unjudged(name, err)
	}
	var with, without []float64
	for i, p := range append([]*Evidence{e}, e.Repeats...) {
		other := than.of(p)
		if other == nil {
			continue
		}
		// It may spin or come to rest: the shift is there to do better.
		x, _, err := c.measure(f, other, (*drive).finite)
		if err != nil {
			r := unjudged(name, fmt.Errorf("the drive %s cannot be measured: %w", than.phrase, err))
			r.Verdict = Undecided
			return r
		}
		with, without = append(with, values[i]), append(without, x)
	}
	if len(with) == 0 {
		return unjudged(name, s.undecided("the case was not played %s; give it compare: yes", than.phrase))
	}
	return c.compared(f, name, with, without, s)
}

// compared judges pairs of figures with and without.
func (c Measured) compared(f figure, name string, with, without []float64, s *Step) Result {
	than := comparisons[c.BetterThan]
	limit := AtLeast(max(c.By, leastBetter))
	on, off := measure.MeanOfRepeats(with, 0), measure.MeanOfRepeats(without, 0)
	if !(off.Value > 0) {
		return unjudged(name, s.fails("no better than %s: the %s is %s %s already, and %s with the shift on", than.words, f.name, f.words(off.Value), than.phrase, f.words(on.Value)))
	}
	est := measure.Improvement(with, without)
	gain := figure{unit: "%", scale: percent}
	r := gain.result(name, fmt.Sprintf("how much smaller the %s is than %s%s", f.name, than.phrase, meanOfRuns(len(with))), est, limit, s)
	return r.explained(fmt.Sprintf("no better than %s: the %s is %s with the shift on and %s %s, smaller by %s, and less than %s does not count",
		than.words, f.name, f.words(on.Value), f.words(off.Value), than.phrase, gain.around(est), share(limit.Low)),
		repeatRemedy(est, limit, len(with), percent, " %"))
}
