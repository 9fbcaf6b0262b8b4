package main

import (
	"bytes"
	"testing"

	"github.com/stretchr/testify/assert"

	"hilrig/suites/record"
)

func TestOutcomeOfFaults(t *testing.T) {
	for _, test := range []struct {
		name     string
		healthy  string
		verdicts []string
		want     string
		summary  string
	}{
		{"all found", record.Go, []string{found, found}, record.Go, "2 of 2 faults found; the board without a fault is GO"},
		{"one missed", record.Go, []string{found, notFound}, record.NoGo, "1 of 2 faults found, 1 not found; the board without a fault is GO"},
		{"one not asked", record.Go, []string{found, record.NotAsked}, record.Go, "1 of 2 faults found, 1 not asked; the board without a fault is GO"},
		{"none asked", record.Go, []string{record.NotAsked}, record.NotShown, "0 of 1 fault found, 1 not asked; the board without a fault is GO"},
		{"stopped", record.Go, []string{found, record.NotRun}, record.NotShown, "1 of 2 faults found, 1 not run: the run was stopped; the board without a fault is GO"},
		{"stopped behind a miss", record.Go, []string{notFound, record.NotRun}, record.NoGo, "0 of 2 faults found, 1 not found, 1 not run: the run was stopped; the board without a fault is GO"},
		{"good board fails", record.NoGo, []string{found}, record.NoGo, "1 of 1 fault found; the board without a fault is NO-GO"},
		{"good board undecided", record.NotShown, []string{found}, record.NotShown, "1 of 1 fault found; the board without a fault is NOT SHOWN"},
	} {
		t.Run(test.name, func(t *testing.T) {
			a := &faultsFound{Healthy: test.healthy}
			for _, v := range test.verdicts {
				a.Faults = append(a.Faults, faultFound{Verdict: v})
			}
			assert.Equal(t, test.want, a.outcome())
			assert.Equal(t, test.summary, a.summary())
		})
	}
}

// nulls returns what two suites say of one board.
func nulls(first, second record.Counts, secondMayPass bool) *nullsFound {
	a := &nullsFound{Boards: []string{"silent"}, PassedByAll: []passedByAll{{"split", "hold", "rear_left unchanged", 2}}, Suites: []nullSuite{
		{Name: "split", Boards: []nullVerdict{{first.Worst(), first}}},
		{Name: "timing", MayPass: secondMayPass, Boards: []nullVerdict{{second.Worst(), second}}},
	}}
	a.Outcome = a.outcome()
	return a
}

func TestOutcomeOfNullBoards(t *testing.T) {
	fails := record.Counts{Fail: 1, Pass: 3}
	for _, test := range []struct {
		name          string
		first, second record.Counts
		mayPass       bool
		want, summary string
	}{
		{"both fail", fails, fails, false, record.Go, "no board that controls nothing gets through"},
		{"the one passes that may", fails, record.Counts{Pass: 4}, true, record.Go, "no board that controls nothing gets through"},
		{"one passes", fails, record.Counts{Pass: 4}, false, record.NoGo, "timing does not fail on silent"},
		{"one is undecided", fails, record.Counts{Pass: 4, Undecided: 1}, false, record.NotShown, "timing does not fail on silent"},
		{"one was not run", fails, record.Counts{NotRun: 1}, false, record.NotShown, "timing does not fail on silent"},
		{"one asks nothing", record.Counts{NotAsked: 3}, fails, false, record.NotShown, "split does not fail on silent"},
		{"undecided and passed", record.Counts{Undecided: 3}, record.Counts{Pass: 1}, false, record.NoGo, "split does not fail on silent; timing does not fail on silent"},
	} {
		t.Run(test.name, func(t *testing.T) {
			a := nulls(test.first, test.second, test.mayPass)
			assert.Equal(t, test.want, a.Outcome)
			assert.Equal(t, test.summary, a.summary())
		})
	}
}

func TestPassedByAllIsWhatPassesOnEveryBoard(t *testing.T) {
	result := func(first, second, third string) *record.Result {
		check := func(name, verdict string) record.Check { return record.Check{Name: name, Verdict: verdict} }
		return &record.Result{Suites: []record.Suite{{Name: "split", Cases: []record.Case{
			{Name: "hold", Variant: "left", Checks: []record.Check{check("a", first), check("b", second)}},
			{Name: "hold", Variant: "right", Checks: []record.Check{check("a", third)}},
		}}}}
	}
	const pass, fail = record.Pass, record.Fail
	for _, test := range []struct {
		name   string
		boards []*record.Result
		want   []passedByAll
	}{
		{"all", []*record.Result{result(pass, pass, pass), result(pass, pass, pass)}, []passedByAll{{"split", "hold", "a", 2}, {"split", "hold", "b", 1}}},
		{"one variant", []*record.Result{result(pass, pass, pass), result(fail, record.Undecided, pass)}, []passedByAll{{"split", "hold", "a", 1}}},
		{"none", []*record.Result{result(pass, fail, pass), result(fail, pass, fail)}, []passedByAll{}},
	} {
		t.Run(test.name, func(t *testing.T) {
			v := &survey{boards: make([]string, len(test.boards)), results: test.boards}
			assert.Equal(t, test.want, nullsOf(v).PassedByAll)
		})
	}
}

func TestTablesArePrintedForAPerson(t *testing.T) {
	a := &faultsFound{Healthy: record.Go, Outcome: record.NoGo, Faults: []faultFound{
		{Name: "no_cap", Key: "cap", Verdict: found, Checks: 112, Suite: "limits", Case: "cap holds", Variant: "turn left", Check: "cap: rear_left at most 92 %"},
		{Name: "left_right", Key: "understeer", Verdict: notFound},
		{Name: "slow_loop", Key: "loop_rate", Verdict: record.NotAsked},
		{Name: "yaw_sign", Key: "understeer", Verdict: found, Checks: 2, Suite: "split", Case: "left", Check: "understeer: outside_rear raised"},
	}}
	for _, colour := range []bool{false, true} {
		var b bytes.Buffer
		s := &screen{Writer: &b, colour: colour}
		a.print(s)
		nulls(record.Counts{Fail: 10, Pass: 3}, record.Counts{Pass: 4}, true).print(s)
		name := "faults.txt"
		if colour {
			name = "faults_colour.txt"
		}
		golden(t, name, b.String())
	}
}
