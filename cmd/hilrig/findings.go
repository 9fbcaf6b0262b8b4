package main

import (
	"cmp"
	"fmt"
	"math"
	"regexp"
	"slices"
	"strings"

	"hilrig/rig/signal"
	"hilrig/suites/record"
)

// finding is one expectation that was not met, or not decided, in one or more
// variants of its case.
type finding struct {
	verdict, check string
	file           string
	line           int
	name           string // the case's
	excerpt        string
	rows           []row
}

// row is one variant's part of a finding.
type row struct {
	variant string
	check   *record.Check
}

// findings collects what failed, then what is undecided, each in plan order.
func findings(r *record.Result) []*finding {
	var all []*finding
	for _, verdict := range record.Unmet {
		known := map[string]*finding{}
		for i := range r.Suites {
			for j := range r.Suites[i].Cases {
				c := &r.Suites[i].Cases[j]
				for k := range c.Checks {
					if c.Checks[k].Verdict == verdict {
						all = find(all, known, c, &c.Checks[k])
					}
				}
			}
		}
	}
	return all
}

// find adds a check to the finding that it belongs to, or as a new one.
func find(all []*finding, known map[string]*finding, c *record.Case, k *record.Check) []*finding {
	key := fmt.Sprintf("%s\x00%d\x00%s\x00%s", k.File, k.Line, c.Name, k.Name)
	f := known[key]
	if f == nil {
		f = &finding{verdict: k.Verdict, check: k.Name, file: k.File, line: k.Line, name: c.Name, excerpt: k.Excerpt}
		known[key] = f
		all = append(all, f)
	}
	f.rows = append(f.rows, row{c.Variant, k})
	return all
}

// printFindings writes everything that failed or is undecided, with where to
// look. verbose adds what each interval is made of.
func printFindings(s *screen, r *record.Result, verbose bool) {
	for _, f := range findings(r) {
		head := f.check
		if l := f.limit(); l != "" {
			head += " (" + l + ")"
		}
		fmt.Fprintf(s, "%s  %s\n", s.verdict(f.verdict, 0), head)
		fmt.Fprintf(s, "  %s, %s:%d\n", f.name, f.file, f.line)
		for _, text := range lines(f.excerpt) {
			fmt.Fprintf(s, "  %s\n", text)
		}
		f.printRows(s)
		if verbose {
			f.printBudget(s)
		}
		for _, why := range f.whys() {
			fmt.Fprintf(s, "  %s\n", why)
		}
		fmt.Fprintln(s)
	}
}

// printRows writes one line for each variant, aligned: which, what was
// measured, the limit where they differ, and where to look.
func (f *finding) printRows(s *screen) {
	var variants, quantities, found, limits []string
	for _, w := range f.rows {
		variants = append(variants, w.variant)
		quantities = append(quantities, w.check.Quantity)
		found = append(found, measured(w.check))
		if f.limit() == "" {
			limits = append(limits, limit(w.check))
		}
	}
	for i, w := range f.rows {
		var text strings.Builder
		text.WriteString("  ")
		for _, column := range [][]string{variants, quantities, found, limits} {
			if n := widest(column...); n > 0 {
				text.WriteString("  " + pad(column[i], n))
			}
		}
		fmt.Fprintln(s, strings.TrimRight(text.String()+where(w.check), " "))
	}
}

// printBudget writes what the intervals are made of: standard uncertainties, how
// they combine, and the factor from there to the interval's half-width (JCGM 100).
func (f *finding) printBudget(s *screen) {
	for _, w := range f.rows {
		c := w.check
		if !c.Measured() || c.Statistics == nil || c.Instrument == nil || c.Low == nil || c.High == nil {
			continue
		}
		combined := math.Hypot(*c.Statistics, *c.Instrument)
		half := (*c.High - *c.Low) / 2
		fmt.Fprintf(s, "    %s: u = %s (statistics %s, resolution and sampler %s), U = %s, k = %.3g\n",
			cmp.Or(w.variant, c.Quantity), signal.Digits(combined, 3), signal.Digits(*c.Statistics, 3), signal.Digits(*c.Instrument, 3), signal.Digits(half, 3), half/combined)
	}
}

// where writes the time and the step in which to look; nothing where there is no such
// place, as for a step that the case lacks.
func where(c *record.Check) string {
	switch at := fmt.Sprintf("  at %.3f s", signal.Time(c.AtNS).Seconds()); {
	case c.Step != "":
		return at + " in " + c.Step
	case c.AtNS > 0:
		return at
	}
	return ""
}

// limit writes what the finding's measured checks were held against; it is empty where
// that is not the same for all of them, or none measured anything.
func (f *finding) limit() string {
	text, seen := "", false
	for _, w := range f.rows {
		if !w.check.Measured() {
			continue
		}
		if l := limit(w.check); seen && l != text {
			return ""
		} else {
			text, seen = l, true
		}
	}
	return text
}

// numbers are what may differ between two sentences that say the same.
var numbers = regexp.MustCompile(`[-+]?[0-9][0-9.e+-]*`)

// whys returns why the finding's checks did not pass. Of sentences that differ
// in their numbers alone it is the first.
func (f *finding) whys() []string {
	var all, known []string
	for _, w := range f.rows {
		kind := numbers.ReplaceAllString(w.check.Why, "#")
		if kind != "" && !slices.Contains(known, kind) {
			known = append(known, kind)
			all = append(all, w.check.Why)
		}
	}
	return all
}

// lines splits text; of an empty one there are none.
func lines(text string) []string {
	text = strings.TrimRight(text, "\n")
	if text == "" {
		return nil
	}
	return strings.Split(text, "\n")
}
