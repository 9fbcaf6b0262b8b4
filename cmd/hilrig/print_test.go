package main

import (
	"bytes"
	"flag"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/assertions"
	"hilrig/assertions/law"
	"hilrig/plant"
	"hilrig/rig/signal"
	"hilrig/suites"
	"hilrig/suites/record"
	"hilrig/suites/report"
)

var update = flag.Bool("update", false, "accept what the commands print now")

// golden holds got against a file in testdata.
func golden(t *testing.T, name, got string) {
	t.Helper()
	path := filepath.Join("testdata", name)
	if *update {
		require.NoError(t, os.WriteFile(path, []byte(got), 0o600))
	}
	want, err := os.ReadFile(path)
	require.NoError(t, err)
	assert.Equal(t, string(want), got)
}

// printed returns all that run prints of r for a person.
func printed(r *record.Result, colour bool) string {
	var b bytes.Buffer
	s := &screen{Writer: &b, Colour: colour}
	printHeading(s, r)
	printResult(s, r, false, false)
	printClosing(s, r, ending{driving: 48_250 * signal.Millisecond, wall: 0.41, folder: "/records/one", whole: true})
	return b.String()
}

func TestRunIsPrintedForAPerson(t *testing.T) {
	golden(t, "run.txt", printed(sampleResult(), false))
}

func TestColourOnlyRepeatsTheWords(t *testing.T) {
	plain, coloured := printed(sampleResult(), false), printed(sampleResult(), true)
	assert.NotEqual(t, plain, coloured)
	for _, code := range []string{"\x1b[31m", "\x1b[32m", "\x1b[33m", "\x1b[0m"} {
		assert.Contains(t, coloured, code)
		coloured = strings.ReplaceAll(coloured, code, "")
	}
	assert.Equal(t, plain, coloured)
}

func TestClosingLine(t *testing.T) {
	pass := record.Check{Name: "a", Verdict: record.Pass}
	for _, test := range []struct {
		name  string
		why   string
		cases []record.Case
		want  string
	}{
		{"all pass", "", []record.Case{{Checks: []record.Check{pass, pass}}}, "GO  1 case, 2 checks passed"},
		{"some left out", "", []record.Case{{Checks: []record.Check{pass}}, {Verdict: record.NotRun}}, "NOT SHOWN  1 case, 1 check passed, 1 of 2 cases not played"},
		{"measured alone", "", []record.Case{{Checks: []record.Check{{Verdict: record.MeasuredOnly}, {Verdict: record.MeasuredOnly}}}}, "MEASURED  1 case, 2 figures measured, and no limit is set"},
		{"measured beside", "", []record.Case{{Checks: []record.Check{{Verdict: record.MeasuredOnly}, pass}}}, "GO  1 case, 1 check passed"},
		{"measured and stopped", "the run was stopped", []record.Case{{Checks: []record.Check{{Verdict: record.MeasuredOnly}}}}, "NOT SHOWN  the run was stopped"},
		{"undecided", "", []record.Case{{Checks: []record.Check{pass, {Verdict: record.Undecided}}}}, "NOT SHOWN  1 of 2 checks undecided"},
		{"stopped", "the run was stopped", []record.Case{{Checks: []record.Check{pass}}, {Verdict: record.NotRun}}, "NOT SHOWN  the run was stopped, 1 case, 1 check passed, 1 of 2 cases not played"},
		{"failing checks are named once", "", []record.Case{{Checks: []record.Check{{Name: "x", Verdict: record.Fail}, pass, {Name: "x", Verdict: record.Fail}, {Name: "y", Verdict: record.Fail}}}}, "NO-GO  3 of 4 checks failed (x; y)"},
	} {
		t.Run(test.name, func(t *testing.T) {
			r := &record.Result{Why: test.why, Suites: []record.Suite{{Cases: test.cases}}}
			r.Seal()
			var b bytes.Buffer
			printClosing(&screen{Writer: &b}, r, ending{})
			first, _, _ := strings.Cut(b.String(), "\n")
			assert.Equal(t, test.want, first)
		})
	}
}

func TestManyFailingChecksAreNotAllNamed(t *testing.T) {
	r := &record.Result{Suites: []record.Suite{{Cases: []record.Case{{}}}}}
	for name := range strings.SplitSeq("abcdefghi", "") {
		r.Suites[0].Cases[0].Checks = append(r.Suites[0].Cases[0].Checks, record.Check{Name: name, Verdict: record.Fail})
	}
	assert.Equal(t, []string{"a", "b", "c", "d", "e", "f", "3 more"}, report.Failing(r))
}

func TestProgressOfARun(t *testing.T) {
	p := suites.Progress{Suite: "torque split", Case: "understeer (turn left, speed 4 m/s)", Done: 3, Total: 39, Driving: 8 * signal.Second}
	assert.Equal(t, "3 of 39  8 s driven  torque split: understeer (turn left, speed 4 m/s)", progressLine(p, ""))
	assert.Equal(t, "3 of 39  about 20 s left  8 s driven  torque split: understeer (turn left, speed 4 m/s)", progressLine(p, "about 20 s left"))
	assert.Equal(t, "0 of 39  about 22 min left", progressLine(suites.Progress{Total: 39}, "about 22 min left"))
}

func TestPlayedIsPrintedForAPerson(t *testing.T) {
	h := &suites.Hold{Speed: 4, Steer: 0.14, Throttle: 0.4, Gain: 0.5}
	motor := func(w plant.Wheel, place law.Corner, command, shift float64) suites.PlayedMotor {
		return suites.PlayedMotor{Wheel: w, Place: place, Read: &assertions.Shift{Baseline: 0.4, Command: command, Shift: shift, Expanded: 0.0006}}
	}
	p := &suites.Played{Demand: 1.68, YawRate: 1.18, Branch: "understeer", Turn: 1, Late: "the sampler left open all 80 commands of motor_front_right in the window", Motors: [4]suites.PlayedMotor{
		motor(plant.FrontLeft, "inside_front", 0.362, -0.038),
		{Wheel: plant.FrontRight, Place: "outside_front", Why: "the sampler left open all 80 commands of motor_front_right in the window"},
		{Wheel: plant.RearLeft, Place: "inside_rear", Silent: true, Why: "motor_rear_left sent no command in the window"},
		motor(plant.RearRight, "outside_rear", 0.4, -0.000004),
	}}
	var b bytes.Buffer
	printPlayed(&screen{Writer: &b}, h, p)
	golden(t, "play.txt", b.String())
}

// Where some variants measured something and others did not, the limit is that of the
// former, and nothing is said of where to look for what has no place.
func TestFailuresReportWhatWasNotMeasured(t *testing.T) {
	n := record.Number
	r := &record.Result{Suites: []record.Suite{{Name: "split", Cases: []record.Case{
		{Name: "hold", Variant: "left", Checks: []record.Check{{Name: "shift", Verdict: record.Fail, Step: "hold", AtNS: 5e8,
			Quantity: "shift of x", Unit: "%", Estimate: n(3), Low: n(2.9), High: n(3.1), LimitLow: n(-1), LimitHigh: n(1), Why: "it moved"}}},
		{Name: "hold", Variant: "right", Checks: []record.Check{{Name: "shift", Verdict: record.Fail, Step: "hold", AtNS: 7e8, Why: "no command came"}}},
		{Name: "hold", Variant: "both", Checks: []record.Check{{Name: "shift", Verdict: record.Fail, Why: "the case has no step"}}},
	}}}}
	var b bytes.Buffer
	printFailures(&screen{Writer: &b}, r, true)
	text := b.String()
	assert.Contains(t, text, "shift (between -1 and 1 %)\n")
	assert.Contains(t, text, "    left   shift of x  3.00 % (2.90 to 3.10)  at 0.500 s in hold\n")
	assert.Contains(t, text, "    right              not measured           at 0.700 s in hold\n")
	assert.Contains(t, text, "    both               not measured\n")
	assert.Contains(t, text, "  no command came\n")
	assert.NotContains(t, text, "0.00")
	assert.NotContains(t, text, "between 0 and 0")
}
