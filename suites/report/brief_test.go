package report_test

import (
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/suites/record"
	"hilrig/suites/report"
)

// failing returns a NO-GO of one suite in which so many situations fail, each with two motors in two cases.
func failing(situations int) *record.Result {
	s := record.Suite{Name: "torque split", File: "standard/split.yaml"}
	for _, name := range []string{"a turn", "another turn"} {
		c := record.Case{Name: name, Variant: "turn left"}
		for i := range situations {
			for _, motor := range []string{"outside_front", "inside_rear"} {
				c.Checks = append(c.Checks, record.Check{
					Name: fmt.Sprintf("situation %d: %s raised", i, motor), Verdict: record.Fail, File: s.File, Line: 10 + i,
					Quantity: "shift of " + motor, Unit: "%", Estimate: new(float64(i)), Why: motor + " did not move", AtNS: 1e9, Step: "hold",
				})
			}
		}
		s.Cases = append(s.Cases, c)
	}
	r := &record.Result{Suites: []record.Suite{s}}
	r.Seal()
	return r
}

func TestLikeFailuresAreToldOnce(t *testing.T) {
	all := report.Brief(failing(2), 85)
	require.Len(t, all, 3)
	assert.Equal(t, report.Block{Verdict: record.Fail, Head: "torque split  (standard/split.yaml), 8 of 8 checks"}, all[0])
	assert.Equal(t, record.Fail, all[2].Verdict)
	assert.Equal(t, "situation 1: 4 checks in 2 cases (outside_front raised; inside_rear raised)", all[2].Head)
	require.Len(t, all[2].Lines, 3)
	assert.Equal(t, "  first in a turn, standard/split.yaml:11", all[2].Lines[0])
	assert.Contains(t, all[2].Lines[1], "turn left, shift of outside_front, 1.00 %")
	assert.Equal(t, "  outside_front did not move", all[2].Lines[2])
}

// However much fails, two screens tell it.
// A suite of which some cases were not played is told by what the others came to.
func TestASuiteIsToldByWhatWasPlayedOfIt(t *testing.T) {
	r := failing(1)
	played := record.Case{Name: "a turn", Checks: []record.Check{{Name: "raised", Verdict: record.Pass}}}
	left := record.Case{Name: "another", Verdict: record.NotRun}
	r.Suites = append(r.Suites, record.Suite{Name: "losses", File: "standard/losses.yaml", Cases: []record.Case{played, left}},
		record.Suite{Name: "rest", File: "standard/rest.yaml", Cases: []record.Case{left}})
	r.Seal()
	all := report.Brief(r, 85)
	assert.Equal(t, report.Block{Verdict: record.Pass, Head: "losses  (standard/losses.yaml), 1 check, 1 case not played"}, all[1])
	assert.Equal(t, report.Block{Verdict: record.NotRun, Head: "rest  (standard/rest.yaml), 0 checks, 1 case not played"}, all[2])
}

func TestABriefResultFitsTwoScreens(t *testing.T) {
	for situations := range 200 {
		lines, room := 0, 20+situations%70
		var told strings.Builder
		for _, b := range report.Brief(failing(situations), room) {
			lines += 1 + len(b.Lines)
			if len(b.Lines) > 0 {
				lines++
			}
			told.WriteString(b.Head + "\n")
		}
		assert.LessOrEqual(t, lines, room)
		groups := strings.Count(told.String(), "situation ")
		if groups < situations {
			assert.Contains(t, told.String(), fmt.Sprintf("%d more groups of like failures", situations-groups))
		}
	}
}

func TestLongIsWhatIsNotGoodAndHasMoreThanTwoScreens(t *testing.T) {
	long := strings.Repeat("line\n", 86)
	assert.True(t, report.Long(&record.Result{Outcome: record.NoGo}, long, 85))
	assert.False(t, report.Long(&record.Result{Outcome: record.NoGo}, long[5:], 85))
	assert.False(t, report.Long(&record.Result{Outcome: record.Go}, long, 85))
}

func TestSituationOfACheck(t *testing.T) {
	for check, want := range map[string][2]string{
		"understeer: outside_rear raised":  {"understeer", "outside_rear raised"},
		"inside_front mirrored":            {"motor mirrored", ""},
		"every command within the policy":  {"every command within the policy", ""},
		"throttle as it is: rear_left off": {"throttle as it is", "rear_left off"},
	} {
		situation, asked := report.Situation(check)
		assert.Equal(t, want, [2]string{situation, asked})
	}
}
