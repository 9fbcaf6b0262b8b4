package campaign

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"hilrig/suites/record"
)

func TestSummaryOfFaults(t *testing.T) {
	for _, test := range []struct {
		name     string
		healthy  string
		verdicts []string
		summary  string
	}{
		{"all found", record.Go, []string{Found, Found}, "2 of 2 faults found; without a fault: built-in GO"},
		{"one harmless", record.Go, []string{Found, Harmless}, "1 of 2 faults found, 1 harmless; without a fault: built-in GO"},
		{"a false alarm", record.Go, []string{Found, FalseAlarm}, "1 of 2 faults found, 1 harmless and called wrong; without a fault: built-in GO"},
		{"one missed", record.Go, []string{Found, NotFound}, "1 of 2 faults found, 1 not found; without a fault: built-in GO"},
		{"one not asked", record.Go, []string{Found, record.NotAsked}, "1 of 2 faults found, 1 not asked; without a fault: built-in GO"},
		{"none asked", record.Go, []string{record.NotAsked}, "0 of 1 fault found, 1 not asked; without a fault: built-in GO"},
		{"stopped", record.Go, []string{Found, record.NotRun}, "1 of 2 faults found, 1 not run: the run was stopped; without a fault: built-in GO"},
		{"stopped behind a miss", record.Go, []string{NotFound, record.NotRun}, "0 of 2 faults found, 1 not found, 1 not run: the run was stopped; without a fault: built-in GO"},
		{"good board fails", record.NoGo, []string{Found}, "1 of 1 fault found; without a fault: built-in NO-GO"},
		{"good board undecided", record.NotShown, []string{Found}, "1 of 1 fault found; without a fault: built-in NOT SHOWN"},
	} {
		t.Run(test.name, func(t *testing.T) {
			a := &Faults{Boards: []Healthy{{Name: "built-in", Outcome: test.healthy}}}
			for _, v := range test.verdicts {
				a.Faults = append(a.Faults, Fault{Verdict: v})
			}
			assert.Equal(t, test.summary, a.Summary())
		})
	}
}

// twoNulls returns what two suites say of one board.
func twoNulls(first, second record.Counts, secondMayPass bool) *Nulls {
	return &Nulls{Outcome: record.Go, Boards: []string{"silent"}, PassedByAll: []CommonPass{{Suite: "split", Case: "hold", Check: "rear_left unchanged", Checks: 2}}, Suites: []NullSuite{
		{Name: "split", Boards: []NullVerdict{{Verdict: first.Worst(), Counts: first}}},
		{Name: "timing", MayPass: secondMayPass, Boards: []NullVerdict{{Verdict: second.Worst(), Counts: second}}},
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
			a := twoNulls(test.first, test.second, test.mayPass)
			assert.Equal(t, test.summary, a.Summary())
		})
	}
}

func TestHowFarAStoppedCampaignCame(t *testing.T) {
	a := twoNulls(record.Counts{Fail: 1}, record.Counts{NotRun: 3}, false)
	assert.Empty(t, a.Interrupted(), "it was not stopped")
	assert.Empty(t, (&Faults{Faults: []Fault{{Verdict: Found}}}).Interrupted())
	a.Why = record.Stopped
	assert.Equal(t, "interrupted after 1 of 2 (each suite on each board); what the rest would come to is not known", a.Interrupted())
	assert.Equal(t, record.Stopped, a.Summary(), "of what was not played nothing is said")
}

// Those come first that take longest, by which the others would seem to take as long.
func TestTheTimeLeftIsToldFromAQuarterOfTheBoardsOn(t *testing.T) {
	early, late := Progress{Done: 27, Boards: 110}, Progress{Done: 55, Boards: 110}
	assert.NotContains(t, early.Words(30), "left")
	assert.Contains(t, late.Words(60), "about 60 s left")
}
