package suites_test

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/plant/portable"
	"hilrig/suites"
	"hilrig/suites/file"
	"hilrig/suites/record"
)

// TestShuffledCasesHaveTheSameVerdicts plays the standard suites in the order
// that they are written in and in drawn ones: what a case leaves in the board or
// on the bench must not reach the next one.
func TestShuffledCasesHaveTheSameVerdicts(t *testing.T) {
	names := []string{"split", "demand", "limits", "losses"}
	orders := uint64(2)
	if testing.Short() {
		orders = 1
	}
	for _, at := range []string{"built-in", "built-in:yaw_held"} {
		written, _ := play(t, load(t, bramble(at, names...)), suites.Options{})
		for seed := range orders {
			s := load(t, bramble(at, names...))
			draw := portable.NewNoise(seed+1, "order of cases")
			for _, suite := range s.Suites {
				shuffle(&draw, suite.Cases)
			}
			shuffled, _ := play(t, s, suites.Options{})
			require.NotEqual(t, written.Suites[0].Cases[0].Trace, shuffled.Suites[0].Cases[0].Trace)
			assert.Equal(t, verdicts(written), verdicts(shuffled), "%s, order %d", at, seed+1)
		}
	}
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
