package main

import (
	"fmt"

	"hilrig/suites/campaign"
	"hilrig/suites/record"
	"hilrig/suites/report"
)

// printFaults writes what suites found of the seeded faults that were played to the end.
func printFaults(s *screen, a *campaign.Faults) {
	wide := max(len(record.NotAsked), len(campaign.NotFound), len(campaign.FalseAlarm))
	rows := table{{"board", "fault", "policy key", report.Pad("", wide), "checks", "found first by"}}
	for i := range a.Faults {
		f := &a.Faults[i]
		if f.Verdict == record.NotRun {
			continue
		}
		checks, by := f.FoundBy()
		rows = append(rows, []string{f.Board, f.Name, f.Key, s.Verdict(f.Verdict, wide), checks, by})
	}
	if len(rows) > 1 {
		rows.Print(s.Beside(), "", 4)
	}
	printInterrupted(s.Beside(), a.Interrupted())
	fmt.Fprintf(s, "\n%s  %s\n", s.Verdict(a.Outcome, 0), a.Summary())
}

// printInterrupted writes how far a campaign came that was stopped.
func printInterrupted(s *screen, how string) {
	if how != "" {
		fmt.Fprintf(s, "\n%s\n", how)
	}
}

// printNulls writes what suites said of the boards that control nothing.
func printNulls(s *screen, a *campaign.Nulls) {
	rows := table{append([]string{"suite"}, a.Boards...)}
	for i := range a.Suites {
		suite := &a.Suites[i]
		row := []string{suite.Name}
		for j := range suite.Boards {
			row = append(row, nullCell(s, &suite.Boards[j]))
		}
		if suite.MayPass {
			row = append(row, "may pass")
		}
		rows = append(rows, row)
	}
	rows.Print(s.Beside(), "")
	if a.Why == "" {
		printCommonPasses(s.Beside(), a.PassedByAll)
	}
	printInterrupted(s.Beside(), a.Interrupted())
	fmt.Fprintf(s, "\n%s  %s\n", s.Verdict(a.Outcome, 0), a.Summary())
}

// nullCell writes the verdict and how many checks gave it.
func nullCell(s *screen, v *campaign.NullVerdict) string {
	text, n := s.Verdict(v.Verdict, 0), v.Counts
	gave, counted := map[string]int{record.Fail: n.Fail, record.Undecided: n.Undecided, record.Pass: n.Pass}[v.Verdict]
	if counted {
		text += fmt.Sprintf(" %d of %d", gave, n.Pass+n.Fail+n.Undecided)
	}
	return text
}

// printCommonPasses writes the checks that say nothing by themselves.
func printCommonPasses(s *screen, all []campaign.CommonPass) {
	if len(all) == 0 {
		return
	}
	fmt.Fprintln(s, "\npassed by every one of them")
	for _, p := range all {
		fmt.Fprintf(s, "  %s: %s: %s (%s)\n", p.Suite, p.Case, p.Check, count(p.Checks, "check"))
	}
}
