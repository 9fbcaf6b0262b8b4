package page_test

import (
	"bytes"
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/suites/record"
	"hilrig/suites/report/compare"
	"hilrig/suites/report/page"
)

// comparedPage returns the page of two runs that were compared; that it is well-formed and refers to nothing outside is checked.
func comparedPage(t *testing.T, before, after *compare.Run, known *compare.Known) (string, *compare.Comparison) {
	t.Helper()
	c := compare.Of(before, after, known)
	return written(t, page.OfComparison(c, before, after)), c
}

func TestPageOfTwoRuns(t *testing.T) {
	good, setup := played(t, "built-in")
	bad, _ := played(t, "built-in:one_branch")
	before, err := compare.Read(good.Folder)
	require.NoError(t, err)
	after, err := compare.Read(bad.Folder)
	require.NoError(t, err)

	text, c := comparedPage(t, before, after, setup.Known())
	require.Equal(t, 1, c.Exit())
	assert.Regexp(t, `<header class="top fail">\s*<h1>WORSE</h1>`, text)
	assert.Contains(t, words(text), good.Folder)
	assert.Contains(t, words(text), bad.Folder)
	assert.Contains(t, words(text), "newly failing check before → after oversteer: outside_front raised")
	assert.Contains(t, words(text), c.Level.Says())
	// Both boards' commands lie over each other, in as many cases as are drawn, with the check's limit.
	laid := strings.Count(text, `aria-label="Commands before and after in `)
	assert.Positive(t, laid)
	assert.Equal(t, 4*laid, strings.Count(text, ">after</text>"), "each motor has both lines")
	assert.Equal(t, 4*laid, strings.Count(text, ">before</text>"))
	assert.Contains(t, text, "Dashed with dots: the limit.")
	assert.Less(t, len(text), 1_000_000)
	assert.Regexp(t, `\d+ newly failing, .*\d+ `, words(text))
	// A case's picture has the limit of each motor that differs there, not of the first alone.
	_, first, _ := strings.Cut(text, `aria-label="Commands before and after in `)
	first, _, _ = strings.Cut(first, "</svg>")
	assert.Equal(t, 2, strings.Count(first, "stroke-dasharray:7,2,1.5,2"), "those of outside_front and outside_rear")
	once := *after
	once.Alongs = before.Alongs
	assert.NotEqual(t, text, written(t, page.OfComparison(c, before, &once)), "both lines are of one run")

	text, c = comparedPage(t, before, before, setup.Known())
	require.Empty(t, c.Changes)
	assert.Regexp(t, `<header class="top pass">\s*<h1>SAME</h1>`, text)
	assert.Contains(t, words(text), "no check differs beyond what both measurements leave open")
	assert.NotContains(t, text, "<svg")
	assert.Less(t, len(text), 20_000)

	// In a car that is not the same nothing is compared, which is said.
	after.Record.Result.Car.Digest = "another"
	text, _ = comparedPage(t, before, after, setup.Known())
	assert.Regexp(t, `<header class="top open">\s*<h1>NOT SHOWN</h1>`, text)
	assert.Contains(t, words(text), "Not comparable: the car changed")
}

// ofChecks is a run with a case for each check, nothing kept along them.
func ofChecks(name string, checks ...record.Check) *compare.Run {
	r := &record.Result{Seed: 1, Label: name, Suites: []record.Suite{{Name: name, File: "one.yaml"}}}
	for i, k := range checks {
		r.Suites[0].Cases = append(r.Suites[0].Cases, record.Case{Name: fmt.Sprintf("%s %d", name, i), Verdict: k.Verdict, Checks: []record.Check{k}})
	}
	r.Seal()
	return &compare.Run{Record: &record.Record{Result: r, Ended: true}, Inputs: []record.Input{{Role: record.SuiteInput, Path: "one.yaml", Data: []byte("x")}}}
}

// measured is a passed check known to ±0.1 of its unit.
func measured(name, unit string, x, low, high float64) record.Check {
	return record.Check{Name: name, Verdict: record.Pass, Step: "hold", Quantity: name + " of it", Unit: unit, Estimate: record.Number(x), Low: record.Number(x - 0.1), High: record.Number(x + 0.1),
		LimitLow: record.Number(low), LimitHigh: record.Number(high), Statistics: record.Number(0.03), Instrument: record.Number(0.03)}
}

func TestPageOfACauseAndOfMarginsThatShrink(t *testing.T) {
	checks := func(hz, ms, shift float64) []record.Check {
		answers := measured("response", "ms", ms, 0, 40)
		for i := range 100 {
			answers.Samples = append(answers.Samples, ms-2+0.02*float64(i))
		}
		return []record.Check{measured("loop rate", "Hz", hz, 200, 1000), answers, measured("inside", "%", shift, 1, 40)}
	}
	text, c := comparedPage(t, ofChecks("s", checks(250, 7, 8)...), ofChecks("s", checks(220, 12.5, 3)...), &compare.Known{})
	require.Equal(t, []string{"loop rate"}, c.Names())
	assert.Contains(t, words(text), "loop rate 250.00 → 220.00 Hz, from which 2 changes follow; 1 worse, which no cause explains")
	assert.Contains(t, text, `aria-label="loop rate before and after"`)
	assert.Contains(t, text, `aria-label="Readings of response before and after"`)
	assert.Contains(t, words(text), "inside s: s 2, hold 6.90 → 1.90 %")
	_, shrinking, _ := strings.Cut(text, `<section id="room">`)
	first, second := strings.Index(shrinking, "inside"), strings.Index(shrinking, "loop rate")
	require.Positive(t, first)
	assert.Less(t, first, second, "what kept the least share of its room comes first")
}

// What both records say is text, whatever it says.
func TestHostileRecordsAreComparedHarmlessly(t *testing.T) {
	hostile := `</style><script>alert(1)</script>"><img src=x onerror=alert(1)>{{.}}` + "\u202e\x1b[2J"
	run := func(x float64) *compare.Run {
		k := measured(hostile, "%", x, 1, 40)
		k.Quantity, k.Why, k.Step, k.AtNS = "shift of outside_front (front_right)"+hostile, hostile, hostile, 50e6
		r := ofChecks(hostile, k)
		r.Record.Folder, r.Record.Host.Began, r.Record.Result.Firmware, r.Record.Result.Real = hostile, hostile, hostile, hostile
		a := &record.Along{BinNS: record.AlongBin, Stimulus: hostile, Played: map[string][]float64{hostile: make([]float64, 20), "yaw_rate": make([]float64, 20)}}
		for w := range a.Motors {
			a.Motors[w] = record.Commands{Mean: make([]float64, 20), Low: make([]float64, 20), High: make([]float64, 20)}
		}
		r.Alongs = map[compare.Place]*record.Along{{}: a}
		return r
	}
	text, c := comparedPage(t, run(8), run(5), &compare.Known{})
	require.NotEmpty(t, c.Changes)
	assert.Contains(t, text, "<svg")
	assert.NotContains(t, text, "<script")
	assert.NotContains(t, text, "<img")
	assert.NotContains(t, text, "\x1b")
	assert.NotContains(t, text, "\u202e")
	assert.Contains(t, words(text), "This program is no safety device")
	c.Changed = []string{hostile}
	var out bytes.Buffer
	require.NoError(t, page.OfComparison(c, run(8), run(5)).Write(&out))
	assert.NotContains(t, out.String(), "<script")
}
