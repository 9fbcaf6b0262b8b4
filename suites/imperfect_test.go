package suites_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

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
