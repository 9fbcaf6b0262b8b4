package main

import (
	"fmt"
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
	for _, verdict := range []string{record.Fail, record.Undecided} {
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
// look.
func printFindings(s *screen, r *record.Result) {
	for _, f := range findings(r) {
		fmt.Fprintf(s, "%s  %s\n", s.verdict(f.verdict, 0), f.check)
		fmt.Fprintf(s, "  %s, %s:%d\n", f.name, f.file, f.line)
		for _, text := range lines(f.excerpt) {
			fmt.Fprintf(s, "  %s\n", text)
		}
		said := ""
		for _, w := range f.rows {
			printRow(s, w, &said)
		}
		fmt.Fprintln(s)
	}
}

// printRow writes one variant: where, what was measured, what it should be, and
// why unless that has just been said.
func printRow(s *screen, w row, said *string) {
	k := w.check
	if w.variant != "" {
		fmt.Fprintf(s, "  %s\n", w.variant)
	}
	where := fmt.Sprintf("at %.3f s", signal.Time(k.AtNS).Seconds())
	if k.Step != "" {
		where += " in " + k.Step
	}
	var parts []string
	for _, p := range []string{strings.TrimSpace(k.Quantity + " " + measured(k)), limit(k), where} {
		if p != "" {
			parts = append(parts, p)
		}
	}
	fmt.Fprintf(s, "    %s\n", strings.Join(parts, ", "))
	if k.Why != "" && k.Why != *said {
		fmt.Fprintf(s, "    %s\n", k.Why)
	}
	*said = k.Why
}

// lines splits text; of an empty one there are none.
func lines(text string) []string {
	text = strings.TrimRight(text, "\n")
	if text == "" {
		return nil
	}
	return strings.Split(text, "\n")
}
