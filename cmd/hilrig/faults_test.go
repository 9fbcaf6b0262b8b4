package main

import (
	"bytes"
	"testing"

	"github.com/stretchr/testify/assert"

	"hilrig/suites/campaign"
	"hilrig/suites/record"
)

func TestSummaryOfFaults(t *testing.T) {
	for _, test := range []struct {
		name     string
		healthy  string
		verdicts []string
		summary  string
	}{
		{"all found", record.Go, []string{campaign.Found, campaign.Found}, "2 of 2 faults found; without a fault: built-in GO"},
		{"one harmless", record.Go, []string{campaign.Found, campaign.Harmless}, "1 of 2 faults found, 1 harmless; without a fault: built-in GO"},
		{"a false alarm", record.Go, []string{campaign.Found, campaign.FalseAlarm}, "1 of 2 faults found, 1 harmless and called wrong; without a fault: built-in GO"},
		{"one missed", record.Go, []string{campaign.Found, campaign.NotFound}, "1 of 2 faults found, 1 not found; without a fault: built-in GO"},
		{"one not asked", record.Go, []string{campaign.Found, record.NotAsked}, "1 of 2 faults found, 1 not asked; without a fault: built-in GO"},
		{"none asked", record.Go, []string{record.NotAsked}, "0 of 1 fault found, 1 not asked; without a fault: built-in GO"},
		{"stopped", record.Go, []string{campaign.Found, record.NotRun}, "1 of 2 faults found, 1 not run: the run was stopped; without a fault: built-in GO"},
		{"stopped behind a miss", record.Go, []string{campaign.NotFound, record.NotRun}, "0 of 2 faults found, 1 not found, 1 not run: the run was stopped; without a fault: built-in GO"},
		{"good board fails", record.NoGo, []string{campaign.Found}, "1 of 1 fault found; without a fault: built-in NO-GO"},
		{"good board undecided", record.NotShown, []string{campaign.Found}, "1 of 1 fault found; without a fault: built-in NOT SHOWN"},
	} {
		t.Run(test.name, func(t *testing.T) {
			a := &campaign.Faults{Boards: []campaign.Healthy{{Name: "built-in", Outcome: test.healthy}}}
			for _, v := range test.verdicts {
				a.Faults = append(a.Faults, campaign.Fault{Verdict: v})
			}
			assert.Equal(t, test.summary, faultsSummary(a))
		})
	}
}

// nulls returns what two suites say of one board.
func nulls(first, second record.Counts, secondMayPass bool) *campaign.Nulls {
	return &campaign.Nulls{Outcome: record.Go, Boards: []string{"silent"}, PassedByAll: []campaign.CommonPass{{Suite: "split", Case: "hold", Check: "rear_left unchanged", Checks: 2}}, Suites: []campaign.NullSuite{
		{Name: "split", Boards: []campaign.NullVerdict{{Verdict: first.Worst(), Counts: first}}},
		{Name: "timing", MayPass: secondMayPass, Boards: []campaign.NullVerdict{{Verdict: second.Worst(), Counts: second}}},
	}}
}

func TestSummaryOfNullBoards(t *testing.T) {
	fails := record.Counts{Fail: 1, Pass: 3}
	for _, test := range []struct {
		name          string
		first, second record.Counts
		mayPass       bool
		summary       string
	}{
		{"both fail", fails, fails, false, "no board that controls nothing gets through"},
		{"the one passes that may", fails, record.Counts{Pass: 4}, true, "no board that controls nothing gets through"},
		{"one passes", fails, record.Counts{Pass: 4}, false, "timing does not fail on silent"},
		{"one is undecided", fails, record.Counts{Pass: 4, Undecided: 1}, false, "timing does not fail on silent"},
		{"one was not run", fails, record.Counts{NotRun: 1}, false, "timing does not fail on silent"},
		{"one asks nothing", record.Counts{NotAsked: 3}, fails, false, "split does not fail on silent"},
		{"undecided and passed", record.Counts{Undecided: 3}, record.Counts{Pass: 1}, false, "split does not fail on silent; timing does not fail on silent"},
	} {
		t.Run(test.name, func(t *testing.T) {
			a := nulls(test.first, test.second, test.mayPass)
			assert.Equal(t, test.summary, nullsSummary(a))
		})
	}
}

func TestTablesArePrintedForAPerson(t *testing.T) {
	seeded := func(board, name, key string) campaign.Seeded {
		return campaign.Seeded{Board: board, Name: name, Key: key}
	}
	harmless := seeded("built-in/moment", "wheels_exchanged", "demand")
	harmless.Harmless = "a mean does not show it"
	a := &campaign.Faults{Outcome: record.NoGo, Boards: []campaign.Healthy{{Name: "built-in", Outcome: record.Go}, {Name: "built-in/moment", Outcome: record.Go}}, Faults: []campaign.Fault{
		{Seeded: seeded("built-in", "no_cap", "cap"), Verdict: campaign.Found, Checks: 112, Suite: "limits", Case: "cap holds", Variant: "turn left", Check: "cap: rear_left at most 92 %"},
		{Seeded: seeded("built-in", "left_right", "understeer"), Verdict: campaign.NotFound},
		{Seeded: seeded("built-in", "slow_loop", "loop_rate"), Verdict: record.NotAsked},
		{Seeded: seeded("built-in/moment", "yaw_sign", "understeer"), Verdict: campaign.Found, Checks: 2, Suite: "split", Case: "left", Check: "understeer: outside_rear raised"},
		{Seeded: harmless, Verdict: campaign.Harmless},
		{Seeded: harmless, Verdict: campaign.FalseAlarm, Checks: 1, Suite: "split", Case: "left", Check: "understeer: sum kept"},
	}}
	for _, colour := range []bool{false, true} {
		var b bytes.Buffer
		s := &screen{Writer: &b, colour: colour}
		printFaults(s, a)
		printNulls(s, nulls(record.Counts{Fail: 10, Pass: 3}, record.Counts{Pass: 4}, true))
		name := "faults.txt"
		if colour {
			name = "faults_colour.txt"
		}
		golden(t, name, b.String())
	}
}
