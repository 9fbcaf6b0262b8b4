package page_test

import (
	"bytes"
	"compress/gzip"
	"fmt"
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
	"hilrig/rig"
	"hilrig/rig/board"
	"hilrig/rig/signal"
	"hilrig/rig/simulated"
	"hilrig/rig/trace"
	"hilrig/suites"
	"hilrig/suites/demo"
	"hilrig/suites/language"
	"hilrig/suites/record"
	"hilrig/suites/report"
	"hilrig/suites/report/page"
	"hilrig/suites/standard"
)

// seen is what came of the four motors in a case, and where its baseline was.
type seen struct {
	frames [4][]trace.Frame
	base   assertions.Step
}

// playedInRealTime plays the first two cases of the split to a board that has a fault, on a bench that counts as one in
// real time, in virtual time, with a sampler that looks each 175 ns.
func playedInRealTime(t *testing.T, keepsMoments bool) (*record.Record, map[int]*seen) {
	t.Helper()
	path, data, ok := standard.Source("split")
	require.True(t, ok)
	data, _, ok = bytes.Cut(data, []byte("  - case: no shift on demand"))
	require.True(t, ok)
	setup, err := suites.Load(suites.Files{
		Car: language.Source{Path: demo.CarPath, Data: demo.CarYAML}, Bench: language.Source{Path: demo.BenchPath, Data: demo.BenchYAML},
		Suites: []language.Source{{Path: path, Data: data}}, Board: "built-in:yaw_sign", Seed: 1,
	})
	require.NoError(t, err)
	require.NoError(t, setup.On(&suites.Real{Kind: "memory bank", Board: true, Restarts: true, Waits: true, Open: func(layout signal.Layout, b board.Board) (rig.Bench, error) {
		return simulated.New(simulated.Settings{Layout: layout, Board: b, Sampler: simulated.Sampler{Period: 175}})
	}}))
	w, err := record.Begin(t.TempDir(), setup.Plan(), record.Host{}, setup.Inputs(), time.Date(2026, 3, 1, 19, 4, 5, 0, time.UTC))
	require.NoError(t, err)
	all := map[int]*seen{}
	o := suites.Options{
		Case: func(suite, index int, c record.Case) { _ = w.Case(suite, index, c) },
		Evidence: func(suite, index int, e *assertions.Evidence) {
			w.Along(suite, index, suites.Along(e))
			s := &seen{base: e.Steps[0]}
			for i := range e.Trace.Motor {
				s.frames[i] = slices.Clone(e.Trace.Motor[i].Frames)
			}
			all[index] = s
		},
	}
	if keepsMoments {
		o.Moments = w.Moments
	}
	result, _, err := setup.Run(t.Context(), o)
	require.NoError(t, err)
	require.NoError(t, w.Finish(result, 1, 1))
	r, err := record.Read(w.Folder())
	require.NoError(t, err)
	require.Empty(t, r.Wrong())
	require.Equal(t, record.NoGo, r.Result.Outcome)
	return r, all
}

const (
	framesShown = "As it was captured in the run; each mark is a frame, where it was known."
	binsShown   = "Means of 10 ms as the record keeps them"
)

// The plots of a run in real time are those of a simulated one that is played again: every frame, the baseline and the limits.
func TestPageOfARunInRealTimeShowsFrames(t *testing.T) {
	r, all := playedInRealTime(t, true)
	text := written(t, page.Of(r, page.Settings{}))
	shown, limited := 0, 0
	for plot := range strings.SplitSeq(text, "</figure>") {
		if !strings.Contains(plot, framesShown) {
			continue
		}
		shown++
		plot = plot[strings.LastIndex(plot, "<figure"):]
		assert.Contains(t, plot, ">measured: ")
		assert.Contains(t, plot, "Dotted: the baseline.")
		assert.GreaterOrEqual(t, strings.Count(plot, "--plot-green"), 3, "a line for the baseline of each motor that has one")
		marks := 0
		for _, path := range regexp.MustCompile(`<path d="([^"]*)" style="[^"]*stroke-width:2\.4"`).FindAllStringSubmatch(plot, -1) {
			marks += strings.Count(path[1], "M")
		}
		assert.Greater(t, marks, 300, "four motors with some 400 frames a second each, over 250 ms at least")
		if strings.Contains(plot, "Dashed with dots: the limit.") {
			limited++
			assert.Contains(t, plot, "--plot-vermillion")
		}
	}
	assert.Equal(t, min(10, len(report.Failures(r.Result))), shown)
	require.Greater(t, shown, 5)
	assert.Positive(t, limited)
	assert.NotContains(t, text, "earlier version")
	assert.NotContains(t, text, "Played again")
	for index, s := range all {
		s.holds(t, r, index)
	}
}

// holds holds what is kept of a case's moments against what came in it.
func (s *seen) holds(t *testing.T, r *record.Record, index int) {
	t.Helper()
	c := &r.Result.Suites[0].Cases[index]
	kept, err := record.Moments(r.Folder, 0, index)
	require.NoError(t, err)
	for i := range c.Checks {
		k := &c.Checks[i]
		if k.Verdict == record.Pass || k.Verdict == record.NotAsked || k.AtNS == 0 {
			continue
		}
		assert.True(t, slices.ContainsFunc(kept, func(m record.Moment) bool {
			return m.AtNS == k.AtNS && m.Step == k.Step && m.FromNS <= max(k.AtNS-15e7, c.StartNS) && m.ToNS <= k.AtNS+25e7 && m.ToNS > k.AtNS
		}), "%s: %s at %d", c.Title(), k.Name, k.AtNS)
	}
	for _, m := range kept {
		for w := range s.frames {
			var times []int64
			var values []float64
			at, sum, n := m.FromNS, 0.0, 0.0
			for i, step := range m.Motors[w].StepsNS {
				at += step
				times, values = append(times, at), append(values, m.Motors[w].Values[i])
			}
			for _, f := range s.frames[w] {
				if f.End >= s.base.From && f.End < s.base.To {
					sum, n = sum+f.Value, n+1
				}
				if int64(f.End) < m.FromNS || int64(f.End) >= m.ToNS {
					continue
				}
				require.NotEmpty(t, times)
				require.Equal(t, int64(f.End), times[0])
				require.InDelta(t, f.Value, values[0], 1e-5)
				times, values = times[1:], values[1:]
			}
			assert.Empty(t, times)
			assert.InDelta(t, sum/n, *m.Motors[w].Baseline, 1e-5)
		}
		assert.Len(t, m.Played, 5)
	}
}

// What is kept of moments may be lost, damaged or another's: the page says so beside the bins, and is written all the same.
func TestPageSaysWhyAMomentIsNotShownFrameByFrame(t *testing.T) {
	r, _ := playedInRealTime(t, true)
	folder := filepath.Join(r.Folder, "moments")
	said := func(write func(path string)) string {
		files, err := filepath.Glob(filepath.Join(folder, "*.json.gz"))
		require.NoError(t, err)
		require.Len(t, files, 12)
		for _, path := range files {
			write(path)
		}
		read, err := record.Read(r.Folder)
		require.NoError(t, err)
		text := words(written(t, page.Of(read, page.Settings{})))
		assert.Contains(t, text, "THIS RECORD IS NOT WHOLE")
		assert.Contains(t, text, "moments/0-0.json.gz is not what its digest says")
		assert.Contains(t, text, binsShown)
		assert.NotContains(t, text, framesShown)
		return text
	}
	put := func(data string) func(path string) {
		return func(path string) { require.NoError(t, os.WriteFile(path, []byte(data), 0o600)) }
	}
	assert.Contains(t, said(put("x")), "What the record keeps of it frame by frame cannot be read: moments/0-0.json.gz: unexpected EOF.")
	assert.Contains(t, said(put(strings.Repeat("x", 5<<20))), "has 5242880 bytes, and 4194304 are read at most")
	hostile := func(text string) func(path string) {
		var packed bytes.Buffer
		z := gzip.NewWriter(&packed)
		_, err := z.Write([]byte(text))
		require.NoError(t, err)
		require.NoError(t, z.Close())
		return put(packed.String())
	}
	assert.Contains(t, said(hostile(`[{"from_ns":5,"to_ns":1}]`)), "moment 1: it is from 5 ns to 1 ns.")
	assert.Contains(t, said(hostile(`[]`)), "of a case in real time it keeps the first 8 moments at which checks failed and the first 4 at which they stayed open")

	// One that is right in its form is shown, whatever its texts are.
	c := &r.Result.Suites[0].Cases[0]
	k := &c.Checks[slices.IndexFunc(c.Checks, func(k record.Check) bool { return k.Verdict == record.Fail })]
	hostile(fmt.Sprintf(`[{"at_ns":%d,"step":%q,"from_ns":1,"to_ns":9000000000,"stride_ns":1,"played":{"<script>":[1]},"measured":{"name":"<script>alert(1)</script>","from_ns":2,"to_ns":8000000000},
		"faults":[{"name":"\"><img src=x>","from_ns":-9223372036854775808,"to_ns":9223372036854775807}],"motors":[{},{},{},{}]}]`, k.AtNS, k.Step))(filepath.Join(folder, "0-0.json.gz"))
	read, err := record.Read(r.Folder)
	require.NoError(t, err)
	text := written(t, page.Of(read, page.Settings{}))
	assert.Contains(t, text, framesShown)
	assert.NotContains(t, text, "<script")
	assert.NotContains(t, text, "<img")
}

// A record of an earlier version keeps no moments: its page shows the bins, and says so.
func TestPageOfAnOlderRecordOfRealTime(t *testing.T) {
	r, _ := playedInRealTime(t, false)
	text := words(written(t, page.Of(r, page.Settings{})))
	assert.NotContains(t, text, "NOT WHOLE")
	assert.Contains(t, text, binsShown)
	assert.Equal(t, min(10, len(report.Failures(r.Result))), strings.Count(text, "Frame by frame the record keeps nothing of it: an earlier version of hilrig made it."))
}
