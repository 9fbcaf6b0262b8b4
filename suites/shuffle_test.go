package suites_test

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/plant/portable"
	"hilrig/rig/benchtest/drawn"
	"hilrig/suites"
	"hilrig/suites/file"
	"hilrig/suites/record"
)

// TestShuffledCasesHaveTheSameVerdicts plays the standard suites in the order
// that they are written in and in drawn ones: what a case leaves in the board or
// on the bench must not reach the next one.
func TestShuffledCasesHaveTheSameVerdicts(t *testing.T) {
	if testing.Short() {
		t.Skip("plays many minutes of driving")
	}
	names := shuffledSuites
	if names == nil {
		names = []string{"split", "demand", "limits", "losses"}
	}
	for i, at := range []string{"built-in", "built-in:yaw_held"} {
		if !drawn.Row(i, 2) {
			continue
		}
		written := onDemo(t, names...)
		if at != "built-in" {
			written, _ = play(t, load(t, bramble(at, names...)), suites.Options{})
		}
		for seed := range uint64(orders) {
			shuffled := playShuffled(t, at, seed+1, names...)
			require.NotEqual(t, written.Suites[0].Cases[0].Trace, shuffled.Suites[0].Cases[0].Trace)
			assert.Equal(t, verdicts(written), verdicts(shuffled), "%s, order %d", at, seed+1)
		}
	}
}

// TestShufflingShowsWhatACaseLeavesBehind plays a board that stays tripped: its
// verdicts go by the order.
func TestShufflingShowsWhatACaseLeavesBehind(t *testing.T) {
	if testing.Short() {
		t.Skip("plays many minutes of driving")
	}
	const at = "built-in:never_recovers"
	written, _ := play(t, load(t, bramble(at, "losses")), suites.Options{})
	assert.NotEqual(t, verdicts(written), verdicts(playShuffled(t, at, 1, "losses")))
}

// playShuffled plays suites to a board with their cases in a drawn order.
func playShuffled(t *testing.T, at string, seed uint64, names ...string) *record.Result {
	s := load(t, bramble(at, names...))
	draw := portable.NewNoise(seed, "order of cases")
	for _, suite := range s.Suites {
		shuffle(&draw, suite.Cases)
	}
	r, _ := play(t, s, suites.Options{})
	return r
}

func shuffle(draw *portable.Noise, cases []file.Case) {
	for i := len(cases) - 1; i > 0; i-- {
		j := int(draw.Uint64() % uint64(i+1))
		cases[i], cases[j] = cases[j], cases[i]
	}
}

// verdicts lists the verdict of each check, sorted.
func verdicts(r *record.Result) []string {
	var all []string
	for _, s := range r.Suites {
		for _, c := range s.Cases {
			for _, k := range c.Checks {
				all = append(all, s.Name+", "+c.Name+" ("+c.Variant+"): "+k.Name+": "+k.Verdict)
			}
		}
	}
	slices.Sort(all)
	return all
}
