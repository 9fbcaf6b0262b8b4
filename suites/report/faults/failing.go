package faults

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"hilrig/suites/record"
	"hilrig/suites/report"
)

// Failing returns the seeded faults with which the checks of a failure fail, those first that make the most of
// its variants fail, then those that make the fewest other checks fail. Of a check that stays open, and of a suite
// of the owner's own, nothing is said.
func (t *Table) Failing(f *report.Failure) []*Fault {
	suite, ok := SuiteOf(f.File)
	if !ok || f.Verdict != record.Fail {
		return nil
	}
	variants := map[string]bool{}
	for _, row := range f.Rows {
		variants[row.Variant] = true
	}
	common := map[*Fault]int{}
	for _, b := range t.Boards {
		for _, fault := range b.Faults {
			for key, verdict := range fault.Unmet {
				if verdict == record.Fail && key.Suite == suite && key.Case == f.Case && key.Check == plain(f.Check) && variants[key.Variant] {
					common[fault]++
				}
			}
		}
	}
	var all []*Fault
	for fault := range common {
		all = append(all, fault)
	}
	slices.SortFunc(all, func(a, b *Fault) int {
		return cmp.Or(cmp.Compare(common[b], common[a]), cmp.Compare(len(a.Unmet), len(b.Unmet)), cmp.Compare(a.Title(), b.Title()))
	})
	return all
}

// mostSaid is how many faults are named under a failure in text.
const mostSaid = 3

// Says returns what stands under a failure in text: a line that names seeded faults which make it fail, or none.
func (t *Table) Says(f *report.Failure) []string {
	names := Names(t.Failing(f), mostSaid)
	if names == "" {
		return nil
	}
	return []string{"seeded faults that make it fail: " + names}
}

// Names writes the titles of the first faults, at most so many, and how many more there are.
func Names(all []*Fault, most int) string {
	var titles []string
	for _, f := range all[:min(most, len(all))] {
		titles = append(titles, f.Title())
	}
	text := strings.Join(titles, ", ")
	if more := len(all) - most; more > 0 {
		text += fmt.Sprintf(" and %d more", more)
	}
	return text
}
