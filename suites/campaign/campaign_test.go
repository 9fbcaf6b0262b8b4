package campaign

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"hilrig/suites/file"
	"hilrig/suites/record"
)

func TestOutcomeOfFaults(t *testing.T) {
	for _, test := range []struct {
		name     string
		healthy  string
		verdicts []string
		want     string
	}{
		{"one harmless", record.Go, []string{Found, Harmless}, record.Go},
		{"one harmless and called wrong", record.Go, []string{Found, FalseAlarm}, record.NoGo},
		{"all found", record.Go, []string{Found, Found}, record.Go},
		{"one missed", record.Go, []string{Found, NotFound}, record.NoGo},
		{"one not asked", record.Go, []string{Found, record.NotAsked}, record.Go},
		{"none asked", record.Go, []string{record.NotAsked}, record.NotShown},
		{"stopped", record.Go, []string{Found, record.NotRun}, record.NotShown},
		{"stopped behind a miss", record.Go, []string{NotFound, record.NotRun}, record.NoGo},
		{"a board that failed", record.Go, []string{Found, BrokeOff}, record.NotShown},
		{"good board fails", record.NoGo, []string{Found}, record.NoGo},
		{"good board undecided", record.NotShown, []string{Found}, record.NotShown},
	} {
		t.Run(test.name, func(t *testing.T) {
			a := &Faults{Boards: []Healthy{{"built-in", record.Go}, {"built-in/moment", test.healthy}}}
			for _, v := range test.verdicts {
				a.Faults = append(a.Faults, Fault{Verdict: v})
			}
			assert.Equal(t, test.want, a.outcome())
		})
	}
}

// nulls returns what two suites say of one board.
func nulls(first, second record.Counts, secondMayPass bool) *Nulls {
	a := &Nulls{Boards: []string{"silent"}, PassedByAll: []CommonPass{{"split", "hold", "rear_left unchanged", 2}}, Suites: []NullSuite{
		{Name: "split", Boards: []NullVerdict{{first.Worst(), first}}},
		{Name: "timing", MayPass: secondMayPass, Boards: []NullVerdict{{second.Worst(), second}}},
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
		want          string
	}{
		{"both fail", fails, fails, false, record.Go},
		{"the one passes that may", fails, record.Counts{Pass: 4}, true, record.Go},
		{"one passes", fails, record.Counts{Pass: 4}, false, record.NoGo},
		{"one is undecided", fails, record.Counts{Pass: 4, Undecided: 1}, false, record.NotShown},
		{"one was not run", fails, record.Counts{NotRun: 1}, false, record.NotShown},
		{"one asks nothing", record.Counts{NotAsked: 3}, fails, false, record.NotShown},
		{"undecided and passed", record.Counts{Undecided: 3}, record.Counts{Pass: 1}, false, record.NoGo},
	} {
		t.Run(test.name, func(t *testing.T) {
			a := nulls(test.first, test.second, test.mayPass)
			assert.Equal(t, test.want, a.Outcome)
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
		want   []CommonPass
	}{
		{"all", []*record.Result{result(pass, pass, pass), result(pass, pass, pass)}, []CommonPass{{"split", "hold", "a", 2}, {"split", "hold", "b", 1}}},
		{"one variant", []*record.Result{result(pass, pass, pass), result(fail, record.Undecided, pass)}, []CommonPass{{"split", "hold", "a", 1}}},
		{"none", []*record.Result{result(pass, fail, pass), result(fail, pass, fail)}, []CommonPass{}},
	} {
		t.Run(test.name, func(t *testing.T) {
			assert.Equal(t, test.want, nullsOf(test.boards).PassedByAll)
		})
	}
}

func TestAFaultOfOnesOwnIsOneWhateverThePolicySays(t *testing.T) {
	car := &file.Car{Asked: []string{"cap"}}
	for _, test := range []struct {
		name  string
		fault Fault
		want  string
	}{
		{"no key", Fault{}, NotFound},
		{"a key that is asked", Fault{Seeded: Seeded{Key: "cap"}}, NotFound},
		{"a key that is not", Fault{Seeded: Seeded{Key: "floor"}}, record.NotAsked},
		{"the board failed", Fault{Why: "it ended"}, BrokeOff},
		{"the board failed, and would be right", Fault{Seeded: Seeded{Harmless: "a mean"}, Why: "it ended"}, BrokeOff},
		{"found before the board failed", Fault{Checks: 1}, Found},
	} {
		t.Run(test.name, func(t *testing.T) {
			h := hunt{fault: test.fault}
			assert.Equal(t, test.want, h.verdict(false, car))
		})
	}
}
