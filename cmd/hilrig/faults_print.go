package main

import (
	"fmt"
	"strings"

	"hilrig/suites/campaign"
	"hilrig/suites/record"
)

// printFaults writes what suites found of the seeded faults.
func printFaults(s *screen, a *campaign.Faults) {
	names, keys, checks := []string{"fault"}, []string{"policy key"}, []string{"checks"}
	for i := range a.Faults {
		f := &a.Faults[i]
		names, keys, checks = append(names, f.Name), append(keys, f.Key), append(checks, digits(f.Checks))
	}
	wide := widest(record.NotAsked, campaign.NotFound)
	fmt.Fprintf(s, "%s  %s  %s  %s  %s\n", pad(names[0], widest(names...)), pad(keys[0], widest(keys...)), pad("", wide), checks[0], "found first by")
	for i := range a.Faults {
		f := &a.Faults[i]
		row := fmt.Sprintf("%s  %s  %s", pad(f.Name, widest(names...)), pad(f.Key, widest(keys...)), s.verdict(f.Verdict, wide))
		if f.Checks > 0 {
			row += fmt.Sprintf("  %s  %s: %s: %s", padLeft(digits(f.Checks), widest(checks...)), f.Suite, f.Case, f.Check)
		}
		fmt.Fprintln(s, row)
	}
	fmt.Fprintf(s, "\n%s  %s\n", s.verdict(a.Outcome, 0), faultsSummary(a))
}

// faultsSummary says in a line what the outcome rests on.
func faultsSummary(a *campaign.Faults) string {
	text := fmt.Sprintf("%d of %s found", a.Tally(campaign.Found), count(len(a.Faults), "fault"))
	if n := a.Tally(campaign.NotFound); n > 0 {
		text += fmt.Sprintf(", %d not found", n)
	}
	if n := a.Tally(record.NotAsked); n > 0 {
		text += fmt.Sprintf(", %d not asked", n)
	}
	if n := a.Tally(record.NotRun); n > 0 {
		text += fmt.Sprintf(", %d not run: %s", n, record.Stopped)
	}
	return text + "; the board without a fault is " + a.Healthy
}

// printNulls writes what suites said of the boards that control nothing.
func printNulls(s *screen, a *campaign.Nulls) {
	names := []string{"suite"}
	columns := make([][]string, len(a.Boards))
	for j, b := range a.Boards {
		columns[j] = []string{b}
	}
	for i := range a.Suites {
		names = append(names, a.Suites[i].Name)
		for j := range a.Suites[i].Boards {
			columns[j] = append(columns[j], nullCell(&screen{}, &a.Suites[i].Boards[j]))
		}
	}
	for i := range names {
		var row strings.Builder
		row.WriteString(pad(names[i], widest(names...)))
		for j, column := range columns {
			text := column[i]
			if i > 0 {
				text = nullCell(s, &a.Suites[i-1].Boards[j])
			}
			row.WriteString("  " + text + strings.Repeat(" ", widest(column...)-widest(column[i])))
		}
		if i > 0 && a.Suites[i-1].MayPass {
			row.WriteString("  may pass")
		}
		fmt.Fprintln(s, strings.TrimRight(row.String(), " "))
	}
	printCommonPasses(s, a.PassedByAll)
	fmt.Fprintf(s, "\n%s  %s\n", s.verdict(a.Outcome, 0), nullsSummary(a))
}

// nullCell writes the verdict and how many checks gave it.
func nullCell(s *screen, v *campaign.NullVerdict) string {
	text, n := s.verdict(v.Verdict, 0), v.Counts
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

// nullsSummary says in a line what the outcome rests on.
func nullsSummary(a *campaign.Nulls) string {
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
