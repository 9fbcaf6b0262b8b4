package faults

import (
	"cmp"
	"maps"
	"slices"
	"strings"

	"hilrig/suites/record"
)

// row is a line of the file: checks of one verdict in the same cases and variants.
type row struct {
	Board string `json:"board"`
	Fault string `json:"fault,omitempty"` // absent: the board without a fault
	Suite string `json:"suite,omitempty"` // absent: the fault changes no verdict
	// Of the checks are in one of these what they come to; "name (2)" is the second of a name in its case.
	Passes []string `json:"passes,omitempty"`
	Fails  []string `json:"fails,omitempty"`
	Open   []string `json:"open,omitempty"`
	NotRun []string `json:"not_run,omitempty"`
	// Absent: all the cases in which the checks pass without the fault.
	Cases []string `json:"cases,omitempty"`
	// Absent: all the variants of each case in which they do so; of the board without a fault, that the case
	// has none.
	Variants []string `json:"variants,omitempty"`
}

// verdicts in the order in which a suite's rows are written.
var verdicts = []string{record.Pass, record.Fail, record.Undecided, record.NotRun}

// checks returns where a row has the checks of a verdict.
func (r *row) checks(verdict string) *[]string {
	switch verdict {
	case record.Pass:
		return &r.Passes
	case record.Fail:
		return &r.Fails
	case record.Undecided:
		return &r.Open
	}
	return &r.NotRun
}

// checkOf names a check among those of its name in the case.
type checkOf struct {
	name string
	nth  int
}

// places is where a check has a verdict: variants by case.
type places map[string][]string

// placesOf returns by suite, verdict and check where the check has the verdict.
func placesOf(all Verdicts) map[string]map[string]map[checkOf]places {
	found := map[string]map[string]map[checkOf]places{}
	for key, verdict := range all {
		of := checkOf{key.Check, key.Nth}
		if found[key.Suite] == nil {
			found[key.Suite] = map[string]map[checkOf]places{}
		}
		if found[key.Suite][verdict] == nil {
			found[key.Suite][verdict] = map[checkOf]places{}
		}
		if found[key.Suite][verdict][of] == nil {
			found[key.Suite][verdict][of] = places{}
		}
		at := found[key.Suite][verdict][of]
		at[key.Case] = append(at[key.Case], key.Variant)
	}
	for _, suite := range found {
		for _, checks := range suite {
			for _, at := range checks {
				for _, variants := range at {
					slices.Sort(variants)
				}
			}
		}
	}
	return found
}

// rowsOf folds verdicts into rows: checks that have the same verdict in the same variants of the same cases
// stand in one. Where that is everywhere that they pass in sound, cases and variants are left out.
func rowsOf(board, fault string, all, sound Verdicts) []row {
	everywhere := placesOf(sound)
	var rows []row
	for suite, byVerdict := range placesOf(all) {
		for verdict, checks := range byVerdict {
			rows = append(rows, fold(row{Board: board, Fault: fault, Suite: suite}, verdict, checks, everywhere[suite][record.Pass])...)
		}
	}
	slices.SortFunc(rows, compareRows)
	return rows
}

// fold returns the rows of one suite and verdict.
func fold(like row, verdict string, checks, everywhere map[checkOf]places) []row {
	rows := map[string]*row{}
	for of, at := range checks {
		for _, place := range foldPlaces(at, everywhere[of]) {
			id := strings.Join(place.cases, "\x00") + "\x01" + strings.Join(place.variants, "\x00")
			if rows[id] == nil {
				one := like
				one.Cases, one.Variants = place.cases, place.variants
				rows[id] = &one
			}
			list := rows[id].checks(verdict)
			*list = append(*list, written(of))
		}
	}
	var all []row
	for _, r := range rows {
		slices.Sort(*r.checks(verdict))
		all = append(all, *r)
	}
	return all
}

// place is cases that have the same variants; nil is all of either.
type place struct{ cases, variants []string }

// foldPlaces puts cases together in which the same variants are concerned.
func foldPlaces(at, everywhere places) (folded []place) {
	if sameEverywhere(at, everywhere) {
		return []place{{}}
	}
	byVariants := map[string]*place{}
	for _, name := range slices.Sorted(maps.Keys(at)) {
		variants := at[name]
		if slices.Equal(variants, everywhere[name]) || slices.Equal(variants, []string{""}) {
			variants = nil
		}
		id := strings.Join(variants, "\x00")
		if byVariants[id] == nil {
			byVariants[id] = &place{variants: variants}
		}
		byVariants[id].cases = append(byVariants[id].cases, name)
	}
	for _, p := range byVariants {
		folded = append(folded, *p)
	}
	return folded
}

// sameEverywhere says whether a check has a verdict wherever it passes without a fault.
func sameEverywhere(at, everywhere places) bool {
	return len(everywhere) > 0 && maps.EqualFunc(at, everywhere, slices.Equal)
}

// compareRows orders rows by suite, verdict, cases, variants and checks.
func compareRows(a, b row) int {
	lists := func(r *row) []string {
		return slices.Concat(r.Cases, []string{""}, r.Variants, []string{""}, r.Passes, r.Fails, r.Open, r.NotRun)
	}
	return cmp.Or(cmp.Compare(a.Suite, b.Suite), cmp.Compare(a.rank(), b.rank()), slices.Compare(lists(&a), lists(&b)))
}

// rank is the place of the row's verdict among the verdicts.
func (r *row) rank() int {
	return slices.IndexFunc(verdicts, func(v string) bool { return len(*r.checks(v)) > 0 })
}
