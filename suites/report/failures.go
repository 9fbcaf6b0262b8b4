package report

import (
	"cmp"
	"fmt"
	"math"
	"regexp"
	"slices"
	"strings"

	"hilrig/assertions"
	"hilrig/rig/signal"
	"hilrig/suites/record"
)

// Failure is one expectation that was not met, or not decided, in one or more
// variants of its case.
type Failure struct {
	Verdict, Check string
	File           string
	Line           int
	Case           string
	Excerpt        string
	Rows           []Row
}

// Row is one variant's part of a failure.
type Row struct {
	Variant string
	Check   *record.Check
}

// Failures collects what failed, then what is undecided, each in plan order; what is asked of every
// command of a case comes after what the case itself asks, which says more.
func Failures(r *record.Result) []*Failure {
	all := inPlanOrder(r)
	slices.SortStableFunc(all, func(a, b *Failure) int {
		return cmp.Or(cmp.Compare(slices.Index(record.Unmet[:], a.Verdict), slices.Index(record.Unmet[:], b.Verdict)), cmp.Compare(last(a), last(b)))
	})
	return all
}

// last is 1 of what is asked of every command, else 0.
func last(f *Failure) int {
	if f.Check == assertions.EveryCommand {
		return 1
	}
	return 0
}

// inPlanOrder collects what failed, then what is undecided.
func inPlanOrder(r *record.Result) []*Failure {
	var all []*Failure
	for _, verdict := range record.Unmet {
		known := map[string]*Failure{}
		for i := range r.Suites {
			for j := range r.Suites[i].Cases {
				c := &r.Suites[i].Cases[j]
				for k := range c.Checks {
					if c.Checks[k].Verdict == verdict {
						all = addCheck(all, known, r.Path(c.Checks[k].File), c, &c.Checks[k])
					}
				}
			}
		}
	}
	return all
}

// addCheck adds a check of a suite in a file to the failure that it belongs to, or as a new one.
func addCheck(all []*Failure, known map[string]*Failure, file string, c *record.Case, k *record.Check) []*Failure {
	key := fmt.Sprintf("%s\x00%d\x00%s\x00%s", file, k.Line, c.Name, k.Name)
	f := known[key]
	if f == nil {
		f = &Failure{Verdict: k.Verdict, Check: k.Name, File: file, Line: k.Line, Case: c.Name, Excerpt: k.Excerpt}
		known[key] = f
		all = append(all, f)
	}
	f.Rows = append(f.Rows, Row{c.Variant, k})
	return all
}

// numbers are what may differ between two sentences that say the same.
var numbers = regexp.MustCompile(`[-+]?[0-9][0-9.e+-]*`)

// Whys returns why the failure's checks did not pass. Of sentences that differ
// in their numbers alone it is the first.
func (f *Failure) Whys() []string {
	var all, known []string
	for _, w := range f.Rows {
		kind := numbers.ReplaceAllString(w.Check.Why, "#")
		if kind != "" && !slices.Contains(known, kind) {
			known = append(known, kind)
			all = append(all, w.Check.Why)
		}
	}
	return all
}

// Keys returns the keys of the policy that the failure's checks ask, each once.
func (f *Failure) Keys() (keys []string) {
	for _, w := range f.Rows {
		for _, k := range w.Check.Keys {
			if !slices.Contains(keys, k) {
				keys = append(keys, k)
			}
		}
	}
	return keys
}

// Says returns the lines that stand under the failure in text: why its checks did not pass, and which keys of the policy
// they ask.
func (f *Failure) Says() []string {
	lines := f.Whys()
	if keys := f.Keys(); len(keys) > 0 {
		lines = append(lines, "it asks the policy's "+strings.Join(keys, ", "))
	}
	return lines
}

// Names returns the names of the checks with a verdict among failures, each once.
func Names(all []*Failure, verdict string) []string {
	var names []string
	for _, f := range all {
		if f.Verdict == verdict && !slices.Contains(names, f.Check) {
			names = append(names, f.Check)
		}
	}
	return names
}

// Budget returns what a check's interval is made of: the combined standard uncertainty of
// its statistics and its instrument, the half-width of the interval, and the coverage factor
// from the one to the other (JCGM 100). It is not ok where one of them is not known.
func Budget(c *record.Check) (combined, half, coverage float64, ok bool) {
	if !c.Measured() || c.Statistics == nil || c.Instrument == nil || c.Low == nil || c.High == nil {
		return 0, 0, 0, false
	}
	combined = math.Hypot(*c.Statistics, *c.Instrument)
	half = (*c.High - *c.Low) / 2
	return combined, half, half / combined, true
}

// Budgets says in a line for each row what its interval is made of, where that is known: standard uncertainties, how
// they combine, and the factor from there to the interval's half-width (JCGM 100).
func (f *Failure) Budgets() (lines []string) {
	for _, w := range f.Rows {
		c := w.Check
		if combined, half, coverage, ok := Budget(c); ok {
			lines = append(lines, fmt.Sprintf("%s: u = %s (statistics %s, resolution and sampler %s), U = %s, k = %.3g",
				cmp.Or(w.Variant, c.Quantity), signal.Digits(combined, 3), signal.Digits(*c.Statistics, 3), signal.Digits(*c.Instrument, 3), signal.Digits(half, 3), coverage))
		}
	}
	return lines
}
