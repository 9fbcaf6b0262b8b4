package main

import (
	"fmt"
	"strings"

	"hilrig/suites/record"
)

// mayPass is the file of the standard suite that a board may pass that controls
// nothing: it asks when a board answers and not what.
const mayPass = "standard/timing.yaml"

// nullsFound is what suites say of the boards that control nothing.
type nullsFound struct {
	Outcome string      `json:"outcome"`
	Why     string      `json:"why,omitempty"` // why the boards were not played to the end
	Boards  []string    `json:"boards"`
	Suites  []nullSuite `json:"suites"`
	// PassedByAll are the checks that pass on every one of the boards, those of
	// one name in one case put together.
	PassedByAll []passedByAll `json:"passed_by_all"`
}

// passedByAll is a check that says nothing by itself.
type passedByAll struct {
	Suite  string `json:"suite"`
	Case   string `json:"case"`
	Check  string `json:"check"`
	Checks int    `json:"checks"`
}

// nullSuite is what one suite says of them.
type nullSuite struct {
	Name    string        `json:"name"`
	File    string        `json:"file"`
	MayPass bool          `json:"may_pass,omitempty"`
	Boards  []nullVerdict `json:"boards"` // in the order of boards
}

// nullVerdict is what one suite says of one board.
type nullVerdict struct {
	Verdict string        `json:"verdict"` // the worst of its checks
	Counts  record.Counts `json:"counts"`
}

// nullsOf reads a survey of the boards that control nothing.
func nullsOf(v *survey) *nullsFound {
	all := &nullsFound{PassedByAll: []passedByAll{}}
	for _, b := range v.boards {
		all.Boards = append(all.Boards, strings.TrimPrefix(b, "null:"))
	}
	for i := range v.results[0].Suites {
		first := &v.results[0].Suites[i]
		suite := nullSuite{Name: first.Name, File: first.File, MayPass: first.File == mayPass}
		for _, r := range v.results {
			suite.Boards = append(suite.Boards, nullVerdict{r.Suites[i].Counts.Worst(), r.Suites[i].Counts})
		}
		all.Suites = append(all.Suites, suite)
	}
	for _, r := range v.results {
		if r.Why != "" {
			all.Why = r.Why
		}
	}
	all.findPassed(v.results)
	all.Outcome = all.outcome()
	return all
}

// outcome implements surveyed: NO-GO where a suite passes that must not, NOT
// SHOWN where that is not decided.
func (a *nullsFound) outcome() string {
	outcome := record.Go
	for i := range a.Suites {
		for _, b := range a.Suites[i].Boards {
			switch {
			case a.Suites[i].MayPass || b.Verdict == record.Fail:
			case b.Verdict == record.Pass:
				return record.NoGo
			default:
				outcome = record.NotShown
			}
		}
	}
	return outcome
}

// findPassed lists the checks that pass on every board.
func (a *nullsFound) findPassed(results []*record.Result) {
	boards := map[site]int{}
	for _, r := range results {
		each(r, record.Pass, func(at site) { boards[at]++ })
	}
	place := map[passedByAll]int{}
	each(results[0], record.Pass, func(at site) {
		if boards[at] < len(results) {
			return
		}
		p := passedByAll{Suite: a.Suites[at.suite].Name, Case: at.name, Check: at.check}
		i, known := place[p]
		if !known {
			i = len(a.PassedByAll)
			place[p] = i
			a.PassedByAll = append(a.PassedByAll, p)
		}
		a.PassedByAll[i].Checks++
	})
}

// print implements surveyed.
func (a *nullsFound) print(s *screen) {
	names := []string{"suite"}
	columns := make([][]string, len(a.Boards))
	for j, b := range a.Boards {
		columns[j] = []string{b}
	}
	for i := range a.Suites {
		names = append(names, a.Suites[i].Name)
		for j := range a.Suites[i].Boards {
			columns[j] = append(columns[j], a.Suites[i].Boards[j].cell(&screen{}))
		}
	}
	for i := range names {
		var row strings.Builder
		row.WriteString(pad(names[i], widest(names...)))
		for j, column := range columns {
			text := column[i]
			if i > 0 {
				text = a.Suites[i-1].Boards[j].cell(s)
			}
			row.WriteString("  " + text + strings.Repeat(" ", widest(column...)-widest(column[i])))
		}
		if i > 0 && a.Suites[i-1].MayPass {
			row.WriteString("  may pass")
		}
		fmt.Fprintln(s, strings.TrimRight(row.String(), " "))
	}
	a.printPassed(s)
	fmt.Fprintf(s, "\n%s  %s\n", s.verdict(a.Outcome, 0), a.summary())
}

// cell writes the verdict and how many checks gave it.
func (v *nullVerdict) cell(s *screen) string {
	text := s.verdict(v.Verdict, 0)
	if share := v.share(); share != "" {
		text += " " + share
	}
	return text
}

// share says how many checks gave the verdict.
func (v *nullVerdict) share() string {
	all := v.Counts.Pass + v.Counts.Fail + v.Counts.Undecided
	switch v.Verdict {
	case record.Fail:
		return fmt.Sprintf("%d of %d", v.Counts.Fail, all)
	case record.Undecided:
		return fmt.Sprintf("%d of %d", v.Counts.Undecided, all)
	case record.Pass:
		return fmt.Sprintf("%d of %d", v.Counts.Pass, all)
	}
	return ""
}

// printPassed writes the checks that say nothing by themselves.
func (a *nullsFound) printPassed(s *screen) {
	if len(a.PassedByAll) == 0 {
		return
	}
	fmt.Fprintln(s, "\npassed by every one of them")
	for _, p := range a.PassedByAll {
		fmt.Fprintf(s, "  %s: %s: %s (%s)\n", p.Suite, p.Case, p.Check, count(p.Checks, "check"))
	}
}

// summary says in a line what the outcome rests on.
func (a *nullsFound) summary() string {
	var not []string
	if a.Why != "" {
		not = append(not, a.Why)
	}
	for i := range a.Suites {
		for j, b := range a.Suites[i].Boards {
			if b.Verdict != record.Fail && !a.Suites[i].MayPass {
				not = append(not, a.Suites[i].Name+" does not fail on "+a.Boards[j])
			}
		}
	}
	if len(not) > 0 {
		return strings.Join(not, "; ")
	}
	return "no board that controls nothing gets through"
}
