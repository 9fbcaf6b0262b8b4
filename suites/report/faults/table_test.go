package faults_test

import (
	"bytes"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"hilrig/suites/record"
	"hilrig/suites/report"
	"hilrig/suites/report/faults"
)

// result returns what came of two cases: two variants of the one, in which a check stands twice, and a case without variants.
func result(first, second, third, single string) *record.Result {
	check := func(name, verdict string) record.Check {
		return record.Check{Name: name, Verdict: verdict, File: "standard/split.yaml", Line: 7}
	}
	return &record.Result{Suites: []record.Suite{{Name: "torque split", File: "standard/split.yaml", Cases: []record.Case{
		{Name: "turns", Variant: "turn left", Checks: []record.Check{check("cap: at most 92 %", first), check("size", second), check("size", third)}},
		{Name: "turns", Variant: "turn right", Checks: []record.Check{check("cap: at most 92 %", record.Pass), check("size", second), check("size", record.Pass)}},
		{Name: "stands", Checks: []record.Check{check("cap: at most 92 %", single)}},
	}}}}
}

const pass, fail, open = record.Pass, record.Fail, record.Undecided

// small returns a table of three faults, the last of which changes nothing.
func small() *faults.Table {
	b := faults.Sound("built-in", result(pass, pass, pass, pass))
	b.Add("cap_gone", result(fail, pass, open, fail))
	b.Add("size_gone", result(pass, fail, fail, pass))
	b.Add("unseen", result(pass, pass, pass, pass))
	return &faults.Table{Boards: []*faults.Board{b}}
}

func TestTheFileSaysEverythingInFewLines(t *testing.T) {
	var out bytes.Buffer
	require.NoError(t, small().Write(&out))
	assert.Equal(t, strings.TrimLeft(`
{"board":"built-in","suite":"split","passes":["cap: at most N %"],"cases":["stands"]}
{"board":"built-in","suite":"split","passes":["cap: at most N %","size","size (2)"],"cases":["turns"],"variants":["turn left","turn right"]}
{"board":"built-in","fault":"cap_gone","suite":"split","fails":["cap: at most N %"],"cases":["stands"]}
{"board":"built-in","fault":"cap_gone","suite":"split","fails":["cap: at most N %"],"cases":["turns"],"variants":["turn left"]}
{"board":"built-in","fault":"cap_gone","suite":"split","open":["size (2)"],"cases":["turns"],"variants":["turn left"]}
{"board":"built-in","fault":"size_gone","suite":"split","fails":["size"]}
{"board":"built-in","fault":"size_gone","suite":"split","fails":["size (2)"],"cases":["turns"],"variants":["turn left"]}
{"board":"built-in","fault":"unseen"}
`, "\n"), out.String())
}

// What is written is read as it was, whatever the verdicts.
func TestTheFileIsReadAsItWasWritten(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		verdict := rapid.SampledFrom([]string{pass, fail, open, record.NotAsked})
		table := &faults.Table{}
		for _, board := range []string{"built-in", "built-in/moment"} {
			b := faults.Sound(board, drawn(t, rapid.Just(pass)))
			for _, fault := range []string{"one", "two"} {
				b.Add(fault, drawn(t, verdict))
			}
			table.Boards = append(table.Boards, b)
		}
		var out bytes.Buffer
		require.NoError(t, table.Write(&out))
		again, err := faults.Read(&out)
		require.NoError(t, err)
		assert.Equal(t, table, again)
	})
}

// drawn returns a result of three suites whose checks have drawn verdicts. A case that is drawn away is not there.
func drawn(t *rapid.T, verdict *rapid.Generator[string]) *record.Result {
	r := &record.Result{}
	for _, suite := range []string{"split", "limits", "own"} {
		s := record.Suite{File: "standard/" + suite + ".yaml"}
		if suite == "own" {
			s.File = "own.yaml"
		}
		for _, c := range []record.Case{{Name: "a", Variant: "left"}, {Name: "a", Variant: "right"}, {Name: "b", Variant: "left"}, {Name: "b", Variant: "right"}, {Name: "c"}} {
			for _, name := range []string{"sum", "size", "size", "size", "cap: at most 9.5 %"} {
				c.Checks = append(c.Checks, record.Check{Name: name, Verdict: verdict.Draw(t, "verdict")})
			}
			if !rapid.Bool().Draw(t, "gone") {
				s.Cases = append(s.Cases, c)
			}
		}
		r.Suites = append(r.Suites, s)
	}
	return r
}

func TestADamagedFileIsAnError(t *testing.T) {
	for name, test := range map[string]struct{ text, says string }{
		"no JSON":      {`{"board":`, "line 1: unexpected end of JSON input"},
		"no checks":    {`{"board":"built-in","suite":"split"}`, "line 1: the row has no checks"},
		"nowhere else": {`{"board":"built-in","fault":"x","suite":"split","fails":["size"]}`, `line 1: check "size" of suite "split" has no cases, and passes in none without a fault`},
	} {
		t.Run(name, func(t *testing.T) {
			_, err := faults.Read(strings.NewReader(test.text))
			assert.EqualError(t, err, test.says)
		})
	}
}

func TestFaultsThatMakeACheckFail(t *testing.T) {
	table := small()
	for _, test := range []struct {
		name string
		of   report.Failure
		want string
	}{
		{"in a variant", failure("turns", "cap: at most 85 %", "turn left"), "built-in:cap_gone"},
		{"not in this variant", failure("turns", "cap: at most 85 %", "turn right"), ""},
		{"another check", failure("turns", "size", "turn left", "turn right"), "built-in:size_gone"},
		{"another case", failure("stands", "size", "turn left"), ""},
		{"of the owner's own", report.Failure{Verdict: fail, File: "split.yaml", Case: "turns", Check: "size", Rows: []report.Row{{Variant: "turn left"}}}, ""},
		{"left open", report.Failure{Verdict: open, File: "standard/split.yaml", Case: "turns", Check: "size", Rows: []report.Row{{Variant: "turn left"}}}, ""},
	} {
		t.Run(test.name, func(t *testing.T) {
			assert.Equal(t, test.want, faults.Names(table.Failing(&test.of), 5))
		})
	}
}

// failure returns a check that failed in these variants of a case.
func failure(name, check string, variants ...string) report.Failure {
	f := report.Failure{Verdict: fail, File: "standard/split.yaml", Case: name, Check: check}
	for _, v := range variants {
		f.Rows = append(f.Rows, report.Row{Variant: v})
	}
	return f
}

// Those come first that make more of the variants fail, then those that make fewer other checks fail.
func TestTheNearestFaultsAreNamedFirst(t *testing.T) {
	b := faults.Sound("built-in", result(pass, pass, pass, pass))
	b.Add("half_and_other", result(fail, fail, pass, pass))
	b.Add("all", result(fail, fail, fail, fail))
	b.Add("half", result(fail, pass, pass, pass))
	both := failure("turns", "size", "turn left", "turn right")
	one := failure("turns", "cap: at most 92 %", "turn left")
	table := &faults.Table{Boards: []*faults.Board{b}}
	assert.Equal(t, "built-in:all, built-in:half_and_other", faults.Names(table.Failing(&both), 2))
	assert.Equal(t, "built-in:half, built-in:half_and_other and 1 more", faults.Names(table.Failing(&one), 2))
}

// A table that is made anew for some suites keeps what it had of the others, for the faults that there are now.
func TestSuitesThatAreNotPlayedAreKept(t *testing.T) {
	other := func(verdict string) *record.Result {
		r := result(verdict, pass, pass, pass)
		r.Suites[0].File = "standard/limits.yaml"
		return r
	}
	older := &faults.Table{Boards: []*faults.Board{faults.Sound("built-in", both(pass))}}
	older.Boards[0].Add("cap_gone", both(fail))
	older.Boards[0].Add("taken_out", both(fail))

	newer := &faults.Table{Boards: []*faults.Board{faults.Sound("built-in", other(pass))}}
	newer.Boards[0].Add("cap_gone", other(pass))
	newer.Boards[0].Add("new", other(pass))
	newer.Keep(older, []string{"split", "limits"})

	want := faults.Sound("built-in", both(pass))
	mixed := result(fail, pass, pass, pass)
	mixed.Suites = append(mixed.Suites, other(pass).Suites...)
	want.Add("cap_gone", mixed)
	want.Add("new", other(pass))
	assert.Equal(t, &faults.Table{Boards: []*faults.Board{want}}, newer)

	newer = &faults.Table{Boards: []*faults.Board{faults.Sound("built-in", other(pass))}}
	newer.Keep(older, []string{"limits"})
	assert.Equal(t, faults.Sound("built-in", other(pass)), newer.Boards[0], "a suite that is no more is forgotten")
}

// both returns a result of two suites in each of which one check came to a verdict.
func both(verdict string) *record.Result {
	r, more := result(verdict, pass, pass, pass), result(verdict, pass, pass, pass)
	more.Suites[0].File = "standard/limits.yaml"
	r.Suites = append(r.Suites, more.Suites...)
	return r
}
