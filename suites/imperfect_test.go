package suites_test

import (
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig/signal"
	"hilrig/suites"
	"hilrig/suites/demo"
	"hilrig/suites/record"
)

// The imperfect benches of the tests: a sampler that looks every 175 ns and stalls 50
// times a second, an edge output that is late twice a minute, and one that always is.
const (
	sampledBench = "sampler: {period: 175 ns, stalls: {every: 20 ms, least: 50 us, most: 300 us}}\n"
	lateBench    = "player: {stalls: {every: 30 s, least: 200 us, most: 3 ms}}\n"
	neverInTime  = "player: {stalls: {every: 20 ms, least: 200 us, most: 300 us}}\n"
)

// imperfect returns the files of the demo, its bench with further lines.
func imperfect(lines, board string, names ...string) suites.Files {
	f := bramble(board, names...)
	f.Bench.Data = append(append([]byte(nil), demo.BenchYAML...), lines...)
	return f
}

// estimates returns of the checks of that name, by their step.
func estimates(r *record.Result, name string) map[string]*record.Check {
	out := map[string]*record.Check{}
	for i := range r.Suites {
		for j := range r.Suites[i].Cases {
			c := &r.Suites[i].Cases[j]
			for k := range c.Checks {
				if check := &c.Checks[k]; check.Name == name && check.Estimate != nil {
					out[c.Name+c.Variant+check.Step] = check
				}
			}
		}
	}
	return out
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

// TestEdgeOutputThatIsNeverInTimeDecidesNothing neither passes nor fails a board, good or
// bad, on what it did not play as asked.
func TestEdgeOutputThatIsNeverInTimeDecidesNothing(t *testing.T) {
	for _, board := range []string{"built-in", "built-in:left_right"} {
		r, _ := play(t, load(t, imperfect(neverInTime, board, "split")), suites.Options{Only: "understeer"})
		assert.Equal(t, record.NotShown, r.Outcome, board)
		for i := range r.Suites[0].Cases {
			for _, k := range r.Suites[0].Cases[i].Checks { // what the sampler saw is another matter than what was played
				assert.True(t, k.Verdict != record.Pass && k.Verdict != record.Fail || k.Name == "motor frames sound" || k.Name == "updates: longest gap", "%s: %s %s", board, k.Name, k.Verdict)
			}
		}
		for _, trouble := range troubles(r) {
			late := strings.Contains(trouble, "the rig played its own wires") || strings.Contains(trouble, "no command came late enough in the case")
			assert.True(t, late, trouble)
		}
	}
}

func TestLateTrialsAreLeftOut(t *testing.T) {
	if testing.Short() {
		t.Skip("plays for seconds")
	}
	r, _ := play(t, load(t, imperfect("player: {stalls: {every: 700 ms, least: 200 us, most: 300 us}}\n", "", "timing")), suites.Options{Only: "response to yaw"})
	found := estimates(r, "response")
	require.NotEmpty(t, found)
	for at, check := range found {
		assert.Equal(t, record.Pass, check.Verdict, "%s: %s", at, check.Why)
		assert.Greater(t, check.LeftOut, 5, at)
	}
}
