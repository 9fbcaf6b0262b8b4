package campaign

import (
	"fmt"
	"strings"

	"hilrig/suites/record"
	"hilrig/suites/report"
)

// Summary says in a line what the outcome rests on.
func (a *Faults) Summary() string {
	parts := []string{fmt.Sprintf("%d of %s found", a.Tally(Found), report.Count(len(a.Faults), "fault"))}
	for _, other := range []struct{ verdict, words string }{
		{NotFound, "not found"},
		{record.NotAsked, record.NotAsked},
		{Harmless, "harmless"},
		{FalseAlarm, "harmless and called wrong"},
		{BrokeOff, "broke off"},
		{record.NotRun, "not run: " + record.Stopped},
	} {
		if n := a.Tally(other.verdict); n > 0 {
			parts = append(parts, fmt.Sprintf("%d %s", n, other.words))
		}
	}
	var healthy []string
	for _, b := range a.Boards {
		healthy = append(healthy, b.Name+" "+b.Outcome)
	}
	return strings.Join(parts, ", ") + "; without a fault: " + strings.Join(healthy, ", ")
}

// Interrupted says in a line how far a campaign came that was stopped; empty: it came to its end.
func (a *Faults) Interrupted() string {
	left := a.Tally(record.NotRun)
	if left == 0 {
		return ""
	}
	return fmt.Sprintf("interrupted after %d of %s; what suites find of the rest is not known", len(a.Faults)-left, report.Count(len(a.Faults), "fault"))
}

// Interrupted says in a line how far a campaign came that was stopped; empty: it came to its end.
func (a *Nulls) Interrupted() string {
	if a.Why == "" {
		return ""
	}
	all, played := 0, 0
	for i := range a.Suites {
		for _, b := range a.Suites[i].Boards {
			all++
			if b.Verdict != record.NotRun {
				played++
			}
		}
	}
	return fmt.Sprintf("interrupted after %d of %d (each suite on each board); what the rest would come to is not known", played, all)
}

// Summary says in a line what the outcome rests on.
func (a *Nulls) Summary() string {
	var not []string
	if a.Why != "" {
		not = append(not, a.Why)
	}
	for i := range a.Suites {
		for j, b := range a.Suites[i].Boards {
			stopped := a.Why != "" && b.Verdict == record.NotRun
			if b.Verdict != record.Fail && !a.Suites[i].MayPass && !stopped {
				not = append(not, a.Suites[i].Name+" does not fail on "+a.Boards[j])
			}
		}
	}
	if len(not) > 0 {
		return strings.Join(not, "; ")
	}
	return "no board that controls nothing gets through"
}
