package main

import (
	"fmt"

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
