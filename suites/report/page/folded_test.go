package page_test

import (
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"hilrig/suites/record"
	"hilrig/suites/report/page"
)

// failing is a run of so many cases, of which each of the first so many has two failed checks, one in either of two situations.
func failing(cases, failed int) *record.Record {
	r := &record.Result{Outcome: record.NoGo, Car: record.Source{Name: "bramble"}, Suites: []record.Suite{{Name: "one", File: "one.yaml"}}}
	s := &r.Suites[0]
	for i := range cases {
		c := record.Case{Name: fmt.Sprint("case ", i), Verdict: record.Pass, Checks: []record.Check{{Name: "sound", Verdict: record.Pass}}}
		if i < failed {
			for _, name := range []string{"understeer: raised", "oversteer: raised"} {
				c.Checks = append(c.Checks, record.Check{Name: name, Verdict: record.Fail, Line: i})
			}
		}
		s.Cases = append(s.Cases, c)
		s.Counts.Add(&c)
	}
	return &record.Record{Result: r, Ended: true}
}

// A page that is long is opened with its first failure and a line for everything else; one that is short, whole.
func TestALongPageIsFolded(t *testing.T) {
	for _, test := range []struct {
		name           string
		of             *record.Record
		parts, open    int
		articles, said int
	}{
		{"few failures", failing(10, 4), 2 + 8 + 1, 2 + 8 + 1, 8, 0},
		{"more failures", failing(10, 5), 2 + 10 + 2 + 1, 1 + 1 + 1 + 1, 10, 1}, // the second group's own first failure is unfolded within it
		{"more cases", failing(31, 0), 1, 0, 0, 1},
	} {
		t.Run(test.name, func(t *testing.T) {
			text := written(t, page.Of(test.of, page.Settings{}))
			assert.Equal(t, test.parts, strings.Count(text, "<details"))
			assert.Equal(t, test.open, strings.Count(text, ` open=""`))
			assert.Equal(t, test.articles, strings.Count(text, "<article"))
			assert.Equal(t, test.said, strings.Count(text, "are left out on paper"))
		})
	}
	text := written(t, page.Of(failing(10, 5), page.Settings{}))
	assert.Equal(t, 2, strings.Count(words(text), "4 more like it"))
	assert.Contains(t, words(text), "oversteer: 5 checks in 5 cases (raised)")
}

// What was skipped because the bench has no such wire stands beside a suite's verdict; what a run did not come to is its verdict.
func TestASuiteThatWasNotPlayedWholeIsNoPass(t *testing.T) {
	for verdict, want := range map[string]string{record.Skipped: record.Pass, record.NotRun: record.NotRun} {
		r := failing(2, 0)
		s := &r.Result.Suites[0]
		left := record.Case{Name: "left", Verdict: verdict, Why: "it is so"}
		s.Cases = append(s.Cases, left)
		s.Counts.Add(&left)
		text := words(written(t, page.Of(r, page.Settings{})))
		assert.Contains(t, text, want+" 3 cases, 2 checks passed, 1 case not played")
	}
}
