//go:build full

package suites_test

import (
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig/signal"
	"hilrig/suites"
	"hilrig/suites/language"
	"hilrig/suites/record"
)

// TestStandardSetOnImperfectBenches plays the whole set in every format through a
// sampler with stalls, and on an edge output that is late: nothing fails.
func TestStandardSetOnImperfectBenches(t *testing.T) {
	paths, err := filepath.Glob("testdata/benches/*.yaml")
	require.NoError(t, err)
	run := func(name string, bench language.Source) {
		t.Run(name, func(t *testing.T) {
			f := bramble("")
			f.Bench = bench
			r, _ := play(t, load(t, f), suites.Options{})
			assert.NotEqual(t, record.NoGo, r.Outcome)
			assert.Zero(t, r.Counts.Fail)
			uncertain, left := int64(0), 0
			for _, s := range r.Suites {
				uncertain += s.Timing.Uncertain
				left += s.Timing.LeftOut
			}
			t.Logf("%s, %d pass, %d undecided, %d commands and %d readings left out", r.Outcome, r.Counts.Pass, r.Counts.Undecided, uncertain, left)
			for _, trouble := range troubles(r) {
				t.Log(trouble)
			}
		})
	}
	for _, path := range paths {
		run(filepath.Base(path), benchWith(t, path, sampledBench))
	}
	run("late edge output", imperfect(lateBench, "").Bench)
	run("late edge output and sampler", imperfect(lateBench+sampledBench, "").Bench)
}

// benchWith returns a bench of testdata with further lines.
func benchWith(t testing.TB, path, lines string) language.Source {
	data, err := os.ReadFile(path)
	require.NoError(t, err)
	return language.Source{Path: path, Data: []byte(strings.TrimRight(string(data), "\n") + "\n" + lines)}
}

// TestSamplerWithStallsGivesTheSameAnswers holds the responses of the timing suite on a bench whose
// sampler stalls against those on a perfect bench.
func TestSamplerWithStallsGivesTheSameAnswers(t *testing.T) {
	if testing.Short() {
		t.Skip("plays for seconds")
	}
	perfect := onDemo(t, "timing")
	sampled, _ := play(t, load(t, imperfect(sampledBench, "", "timing")), suites.Options{Only: "response"})
	assert.Empty(t, troubles(sampled))
	assert.Nil(t, perfect.Suites[0].Timing, "a perfect bench has nothing to tell")
	timing := sampled.Suites[0].Timing
	require.NotNil(t, timing)
	assert.NotZero(t, timing.Uncertain)
	assert.NotZero(t, timing.LeftOut)
	assert.Zero(t, timing.LatestNS, "a blind sampler makes nothing late")
	assert.InDelta(t, 300e3, float64(timing.LongestGapNS), 2e3)
	assert.InDelta(t, 350, float64(timing.MedianGapNS), 44, "two turns of the sampler")
	want := estimates(perfect, "response")
	require.NotEmpty(t, want)
	for at, check := range estimates(sampled, "response") {
		require.Contains(t, want, at)
		assert.InDelta(t, *want[at].Estimate, *check.Estimate, 1, "ms, of %s", at)
		assert.NotZero(t, check.LeftOut)
		assert.Zero(t, want[at].LeftOut)
	}
	assert.Len(t, estimates(sampled, "response"), len(want))
}

// TestSamplerWithStallsHidesNoFault looks for seeded faults through it.
func TestSamplerWithStallsHidesNoFault(t *testing.T) {
	if testing.Short() {
		t.Skip("plays for seconds")
	}
	for _, fault := range []string{"slow_loop", "outputs_staggered", "left_right"} {
		at := nearest[fault]
		r, _ := play(t, load(t, imperfect(sampledBench, "built-in:"+fault, at.suite)), suites.Options{Only: at.cases})
		assert.Equal(t, record.NoGo, r.Outcome, fault)
	}
}

// TestLateEdgeOutputIsPlayedAgain has an edge output that stalls now and then: the cases that
// it invalidates are played again, and can be watched, which shows too that what is late is drawn from the seed.
func TestLateEdgeOutputIsPlayedAgain(t *testing.T) {
	s := load(t, imperfect(lateBench, "", "demand"))
	r, driving := play(t, s, suites.Options{})
	assert.Equal(t, record.Go, r.Outcome)
	assert.Empty(t, troubles(r))
	timing := r.Suites[0].Timing
	require.NotNil(t, timing)
	assert.NotZero(t, timing.Late)
	assert.NotZero(t, timing.Again)
	assert.Greater(t, timing.LatestNS, int64(200*signal.Microsecond))
	assert.LessOrEqual(t, timing.LatestNS, int64(4*signal.Millisecond))
	assert.Zero(t, timing.Edges, "every captured edge was seen at its time")
	_, once := play(t, load(t, bramble("", "demand")), suites.Options{})
	assert.Greater(t, driving, once)
	i := slices.IndexFunc(r.Suites[0].Cases, func(c record.Case) bool { return c.Again > 0 })
	require.GreaterOrEqual(t, i, 0)
	w, err := s.Rewatch(t.Context(), r, 0, i)
	require.NoError(t, err)
	assert.NotZero(t, w.To)
}
