package main

import (
	"bytes"
	"testing"

	"github.com/stretchr/testify/assert"

	"hilrig/suites/campaign"
	"hilrig/suites/record"
)

// nulls returns what two suites say of one board.
func nulls(first, second record.Counts, secondMayPass bool) *campaign.Nulls {
	return &campaign.Nulls{Outcome: record.Go, Boards: []string{"silent"}, PassedByAll: []campaign.CommonPass{{Suite: "split", Case: "hold", Check: "rear_left unchanged", Checks: 2}}, Suites: []campaign.NullSuite{
		{Name: "split", Boards: []campaign.NullVerdict{{Verdict: first.Worst(), Counts: first}}},
		{Name: "timing", MayPass: secondMayPass, Boards: []campaign.NullVerdict{{Verdict: second.Worst(), Counts: second}}},
	}}
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
		s := &screen{Writer: &b, Colour: colour}
		printFaults(s, a)
		printNulls(s, nulls(record.Counts{Fail: 10, Pass: 3}, record.Counts{Pass: 4}, true))
		name := "faults.txt"
		if colour {
			name = "faults_colour.txt"
		}
		golden(t, name, b.String())
	}
}

// What was not played to its end has no row.
func TestOfAnInterruptedCampaignTheRowsAreToldThatEnded(t *testing.T) {
	a := &campaign.Faults{Outcome: record.NotShown, Boards: []campaign.Healthy{{Name: "built-in", Outcome: record.Go}}, Faults: []campaign.Fault{
		{Seeded: campaign.Seeded{Board: "built-in", Name: "no_cap", Key: "cap"}, Verdict: campaign.Found, Checks: 3, Suite: "limits", Case: "cap holds", Check: "cap"},
		{Seeded: campaign.Seeded{Board: "built-in", Name: "left_right", Key: "understeer"}, Verdict: record.NotRun},
	}}
	var b bytes.Buffer
	printFaults(&screen{Writer: &b}, a)
	assert.Equal(t, `board     fault   policy key               checks  found first by
built-in  no_cap  cap         found             3  limits: cap holds: cap

interrupted after 1 of 2 faults; what suites find of the rest is not known

NOT SHOWN  1 of 2 faults found, 1 not run: the run was stopped; without a fault: built-in GO
`, b.String())
}
