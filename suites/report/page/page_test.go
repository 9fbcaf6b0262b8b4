package page_test

import (
	"bytes"
	"encoding/xml"
	"fmt"
	"html"
	"io"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/assertions"
	"hilrig/suites"
	"hilrig/suites/demo"
	"hilrig/suites/language"
	"hilrig/suites/record"
	"hilrig/suites/report"
	"hilrig/suites/report/faults"
	"hilrig/suites/report/page"
	"hilrig/suites/standard"
)

// played plays the first two cases of the split to a board and returns its record as it is read back, and
// what had been set up.
func played(t *testing.T, board string) (*record.Record, *suites.Setup) {
	t.Helper()
	return playedOf(t, "split", "  - case: no shift on demand", board, "")
}

// playedOf plays what of a suite stands before some words; of that the cases whose name contains only.
func playedOf(t *testing.T, suite, before, board, only string) (*record.Record, *suites.Setup) {
	t.Helper()
	path, data, ok := standard.Source(suite)
	require.True(t, ok)
	data, _, ok = bytes.Cut(data, []byte(before))
	require.True(t, ok)
	setup, err := suites.Load(suites.Files{
		Car: language.Source{Path: demo.CarPath, Data: demo.CarYAML}, Bench: language.Source{Path: demo.BenchPath, Data: demo.BenchYAML},
		Suites: []language.Source{{Path: path, Data: data}}, Board: board, Seed: 1,
	})
	require.NoError(t, err)
	w, err := record.Begin(t.TempDir(), setup.Plan(), record.Host{Machine: "<b>machine</b>"}, setup.Inputs(), time.Date(2026, 3, 1, 19, 4, 5, 0, time.UTC))
	require.NoError(t, err)
	result, _, err := setup.Run(t.Context(), suites.Options{
		Only:     only,
		Case:     func(suite, index int, c record.Case) { _ = w.Case(suite, index, c) },
		Evidence: func(suite, index int, e *assertions.Evidence) { w.Along(suite, index, suites.Along(e)) },
	})
	require.NoError(t, err)
	require.NoError(t, w.Finish(result, 1, 1))
	r, err := record.Read(w.Folder())
	require.NoError(t, err)
	return r, setup
}

// written returns the page; its elements are checked to be well-formed, and to refer to nothing outside.
func written(t *testing.T, p interface{ Write(w io.Writer) error }) string {
	t.Helper()
	var out bytes.Buffer
	require.NoError(t, p.Write(&out))
	text := out.String()
	from := xml.NewDecoder(strings.NewReader(strings.TrimPrefix(text, "<!DOCTYPE html>")))
	from.Entity = xml.HTMLEntity
	ids := map[string]bool{}
	for {
		token, err := from.Token()
		if err == io.EOF {
			break
		}
		require.NoError(t, err)
		e, ok := token.(xml.StartElement)
		if !ok {
			continue
		}
		assert.NotContains(t, []string{"script", "link", "iframe", "object", "embed", "image", "use", "base", "form"}, e.Name.Local)
		for _, a := range e.Attr {
			assert.False(t, strings.HasPrefix(a.Name.Local, "on"), "%s", a.Name.Local)
			switch a.Name.Local {
			case "src": // a picture in the page itself
				assert.Equal(t, "img", e.Name.Local)
				assert.Regexp(t, `^data:image/svg\+xml;base64,[A-Za-z0-9+/=]+$`, a.Value)
			case "srcset", "action", "data":
				t.Errorf("%s refers to %q", e.Name.Local, a.Value)
			case "href":
				assert.True(t, strings.HasPrefix(a.Value, "#"), "%s", a.Value)
			case "id":
				assert.False(t, ids[a.Value], "the id %s stands twice", a.Value)
				ids[a.Value] = true
			}
		}
	}
	for link := range strings.SplitSeq(text, `href="#`) {
		if id, _, ok := strings.Cut(link, `"`); ok && !strings.Contains(id, "<") {
			assert.True(t, ids[id], "the link to #%s leads nowhere", id)
		}
	}
	assert.NotRegexp(t, `(?i)@import|url\(|https?://(?:[^w]|w[^w])`, strings.ReplaceAll(text, "http://www.w3.org/2000/svg", ""))
	return text
}

// tableOf returns a table with seven faults, each of which makes fail what failed in a result.
func tableOf(r *record.Result) *faults.Table {
	b := faults.Sound("built-in", r)
	for name := range strings.SplitSeq("abcdefg", "") {
		b.Add(name, r)
	}
	return &faults.Table{Boards: []*faults.Board{b}}
}

// words returns what of a page is text, without markup.
func words(text string) string {
	return strings.Join(strings.Fields(html.UnescapeString(regexp.MustCompile(`(?s)<[^>]*>`).ReplaceAllString(text, " "))), " ")
}

func TestPageOfARunThatIsGO(t *testing.T) {
	r, _ := played(t, "built-in")
	require.Equal(t, record.Go, r.Result.Outcome, r.Result.Why)
	text := written(t, page.Of(r, page.Settings{}))
	assert.Regexp(t, `<header class="top pass">\s*<h1>GO</h1>`, text)
	assert.NotContains(t, text, "What failed or stayed open")
	assert.NotContains(t, text, `class="caution"`)
	assert.Contains(t, words(text), report.Summary(r.Result))
	assert.Contains(t, text, "&lt;b&gt;machine&lt;/b&gt;")
	assert.Contains(t, words(text), r.Result.Digest)
	for _, situation := range []string{"understeer", "oversteer"} {
		assert.Contains(t, text, "Shift between the wheels: "+situation)
	}
	// The shifts on the car are the least and the most that the record has.
	low, high := 0.0, -100.0
	for _, c := range r.Result.Suites[0].Cases {
		for _, k := range c.Checks {
			if k.Name == "understeer: inside_front lowered" && strings.Contains(c.Variant, "turn left") && k.Measured() {
				low, high = min(low, *k.Estimate), max(high, *k.Estimate)
			}
		}
	}
	require.Less(t, low, -1.0)
	assert.Contains(t, text, fmt.Sprintf(">%.1f to</text>", low))
	assert.Contains(t, text, fmt.Sprintf(">%.1f %%</text>", high))
	assert.Less(t, len(text), 500_000)
}

// A loss is drawn from the last good value on, and says when the motors stood and until when they may.
func TestPageDrawsLosses(t *testing.T) {
	r, _ := playedOf(t, "losses", "  - case: yaw-rate sensor frozen", "built-in", "yaw-rate sensor lost")
	text := written(t, page.Of(r, page.Settings{}))
	for _, says := range []string{"last good frame of yaw_serial", "limit 100 ms", "ms after last good frame of yaw_serial"} {
		assert.Contains(t, text, ">"+says+"</text>")
	}
	least, says := math.Inf(1), ""
	for _, c := range r.Result.Suites[0].Cases {
		for i := range c.Checks {
			if k := &c.Checks[i]; k.Name == "yaw lost: no shift within 100 ms" && *k.LimitHigh-*k.Estimate < least {
				least, says = *k.LimitHigh-*k.Estimate, report.Measured(k)
			}
		}
	}
	require.Positive(t, least)
	assert.Contains(t, text, ">no shift "+says+"</text>", "of the variant with the least room")
}

// The characteristic of a speed controller is an image, in which nothing of a record's file is run.
func TestPageShowsTheCharacteristic(t *testing.T) {
	r := &record.Result{Bench: record.Source{Name: "stand"}, Board: record.Source{Name: "esc"}, Suites: make([]record.Suite, 1)}
	w, err := record.Create(t.TempDir(), r, record.Host{}, time.Date(2026, 3, 1, 19, 4, 5, 0, time.UTC))
	require.NoError(t, err)
	require.NoError(t, w.Form("characteristic-1.svg", []byte("<svg><script>alert(1)</script></svg>")))
	require.NoError(t, w.Form("readings.csv", []byte("1,2\n")))
	require.NoError(t, w.Finish(r, 1, 1))
	read, err := record.Read(w.Folder())
	require.NoError(t, err)
	text := written(t, page.Of(read, page.Settings{}))
	assert.Contains(t, text, `<img src="data:image/svg&#43;xml;base64,PHN2Zz48c2NyaXB0PmFsZXJ0KDEpPC9zY3JpcHQ&#43;PC9zdmc&#43;" alt="Output over throttle`)
	assert.NotContains(t, text, "<script")
	assert.Contains(t, words(text), "readings.csv")
}

func TestPageOfARunThatIsNoGo(t *testing.T) {
	r, setup := played(t, "built-in:yaw_sign")
	require.Equal(t, record.NoGo, r.Result.Outcome)
	fromBins := page.Of(r, page.Settings{Faults: tableOf(r.Result)})
	text := written(t, fromBins)
	said := words(text)
	assert.Regexp(t, `<h1>NO-GO</h1>\s*<p class="looks">looks like any of \d+ seeded faults, .*built-in:a, `, text)
	assert.Contains(t, said, faults.Caution)
	failures := 0
	for i := range r.Result.Suites {
		for _, c := range r.Result.Suites[i].Cases {
			for j := range c.Checks {
				k := &c.Checks[j]
				if k.Verdict != record.Fail && k.Verdict != record.Undecided {
					continue
				}
				failures++
				assert.Contains(t, said, k.Name)
				assert.Contains(t, said, report.Measured(k), "%s in %s", k.Name, c.Title())
				assert.Contains(t, said, report.Limit(k))
				assert.Contains(t, said, report.Where(k))
				for line := range strings.Lines(k.Excerpt) {
					assert.Contains(t, said, strings.Join(strings.Fields(line), " "))
				}
			}
		}
	}
	require.Greater(t, failures, 10)
	failed := slices.DeleteFunc(report.Failures(r.Result), func(f *report.Failure) bool { return f.Verdict != record.Fail })
	assert.Equal(t, len(failed), strings.Count(said, "The seeded faults that make this check fail: built-in:a, built-in:b, built-in:c, built-in:d, built-in:e and 2 more."))
	assert.Contains(t, said, "Means of 10 ms as the record keeps them")
	assert.NotContains(t, said, "Played again")
	assert.Less(t, len(text), 3_000_000)

	again := page.Of(r, page.Settings{})
	require.True(t, again.Replays())
	require.NoError(t, setup.Retrace(t.Context(), r.Result, again.Wants, func(c *suites.Retraced) error {
		again.Take(c.Suite, c.Index, c.Evidence)
		return nil
	}))
	text = written(t, again)
	assert.Equal(t, min(10, len(report.Failures(r.Result))), strings.Count(text, "Played again from the record"))
	groups := strings.Split(text, `<details class="alike`)[1:]
	require.Greater(t, len(groups), 2)
	for _, g := range groups {
		first, _, _ := strings.Cut(g, "</article>")
		assert.Contains(t, first, "Played again from the record", "the first of each group comes before the second of any: %.200s", g)
	}
	assert.Contains(t, text, ">measured: hold</text>")
	assert.NotContains(t, text, "seeded faults")
	assert.Less(t, len(text), 3_000_000)

	again.NotReplayed(fmt.Errorf("case %q came out differently", "<i>x</i>"))
	text = written(t, again)
	assert.NotContains(t, text, "Played again from the record")
	assert.Contains(t, words(text), `Cases could not be played again as they were, so that moments are plotted by what the record keeps: case "<i>x</i>" came out differently`)
}

// A run of which no record is kept has more failures than are plotted, and nothing to plot: the page does not say that
// it does.
func TestAPageWithoutARecordPromisesNoPlots(t *testing.T) {
	r := &record.Result{Outcome: record.NoGo, Car: record.Source{Name: "bramble"}, Suites: []record.Suite{{Name: "one", Cases: []record.Case{{Name: "case"}}}}}
	c := &r.Suites[0].Cases[0]
	for i := range 100 {
		c.Checks = append(c.Checks, record.Check{Name: fmt.Sprintf("check %d", i), Verdict: record.Fail, Why: "it does not hold"})
	}
	said := words(written(t, page.Of(&record.Record{Result: r, Ended: true}, page.Settings{})))
	assert.Contains(t, said, "check 99")
	assert.NotContains(t, said, "are plotted")
	assert.Contains(t, said, "The record keeps nothing of what was played")
}

// Of a record that is not as it was written this is said before its outcome, which is none.
func TestWhatIsWrongStandsFirst(t *testing.T) {
	r, _ := played(t, "built-in")
	path := filepath.Join(r.Folder, "result.json")
	data, err := os.ReadFile(path)
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(path, bytes.Replace(data, []byte(`"pass"`), []byte(`"fail"`), 1), 0o600))
	r, err = record.Read(r.Folder)
	require.NoError(t, err)
	text := written(t, page.Of(r, page.Settings{}))
	_, body, _ := strings.Cut(text, "<body>")
	wrong, outcome := strings.Index(body, r.Wrong()[0]), strings.Index(body, "<h1>")
	require.Positive(t, wrong)
	assert.Less(t, wrong, outcome)
	assert.Contains(t, body, "<h1>NOT SHOWN</h1>")
}

// What a record says is text, whatever it says.
func TestHostileRecordsAreHarmless(t *testing.T) {
	hostile := []string{
		`<script>alert(1)</script>`, `"><img src=x onerror=alert(1)>`, "</style></svg></pre>", "{{.}}", "javascript:alert(1)", "../../etc/passwd", "\u202egnp.exe",
		"a&b;&#60;", "]]>", "--><!--",
	}
	r := &record.Result{Car: record.Source{Name: hostile[0], File: hostile[5]}, Bench: record.Source{Name: hostile[2]}, Board: record.Source{Name: hostile[1]},
		Label: hostile[6], Real: hostile[1], Suites: make([]record.Suite, 1), NotAsked: []record.Note{{Key: hostile[0], Text: hostile[1]}}}
	r.Suites[0] = record.Suite{Name: hostile[0], About: hostile[9], File: hostile[5]}
	for _, name := range hostile {
		k := record.Check{Name: name, Verdict: record.Fail, Step: name, Quantity: "shift of outside_front (front_right)" + name, Unit: "%", Estimate: record.Number(-8),
			Low: record.Number(-9), High: record.Number(-7), LimitLow: record.Number(1), AtNS: 500e6, Why: name, Excerpt: name, File: name, Line: 1}
		r.Suites[0].Cases = append(r.Suites[0].Cases, record.Case{Name: name, Variant: name, LengthNS: 1e9, Trace: "x", Checks: []record.Check{k}})
	}
	w, err := record.Create(t.TempDir(), r, record.Host{Command: hostile[0]}, time.Date(2026, 3, 1, 19, 4, 5, 0, time.UTC))
	require.NoError(t, err)
	for i := range hostile {
		require.NoError(t, w.Case(0, i, r.Suites[0].Cases[i]))
		a := &record.Along{BinNS: record.AlongBin, Played: map[string][]float64{"yaw_rate": make([]float64, 100), hostile[1]: make([]float64, 100)}}
		for m := range a.Motors {
			a.Motors[m] = record.Commands{Mean: make([]float64, 100), Low: make([]float64, 100), High: make([]float64, 100)}
		}
		w.Along(0, i, a)
	}
	require.NoError(t, w.Finish(r, 1, 1))
	read, err := record.Read(w.Folder())
	require.NoError(t, err)
	text := written(t, page.Of(read, page.Settings{}))
	assert.Contains(t, text, "<svg", "moments are plotted")
	assert.NotContains(t, text, "<script")
	assert.NotContains(t, text, "<img")
	assert.Contains(t, words(text), "This program is no safety device")
	assert.Contains(t, words(text), "How the motors were powered cannot be told")
}
