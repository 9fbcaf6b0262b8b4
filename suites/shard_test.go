package suites_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/suites"
	"hilrig/suites/parts"
	"hilrig/suites/record"
	"hilrig/suites/standard"
)

// Each suite is in one part, the signs of life are in all.
func TestPartsHaveEachSuiteOnce(t *testing.T) {
	names := append([]string{standard.Life}, standard.Names()...)
	for _, of := range []int{1, 2, 3, 8, 20} {
		played := map[string]int{}
		for k := 1; k <= of; k++ {
			s := load(t, bramble("built-in", names...))
			require.NoError(t, s.Split(suites.Options{}, parts.Shard{Number: k, Of: of}))
			plan := s.Plan()
			require.NotNil(t, plan.Part)
			for i := range plan.Suites {
				played[plan.Suites[i].File]++
			}
			for _, left := range plan.Part.Left {
				played[left]--
			}
			assert.Positive(t, s.Planned(suites.Options{}), "the signs of life are played in each part")
		}
		for file, times := range played {
			if path, _, _ := standard.Source(standard.Life); file == path {
				assert.Equal(t, of, times, file)
				continue
			}
			assert.Equal(t, 1, times, "%s, of %d parts", file, of)
		}
	}
}

// A part is never GO, whatever its checks say.
func TestAPartIsNoOutcome(t *testing.T) {
	for verdict, whole := range map[string]string{record.Pass: record.Go, record.Fail: record.NoGo, record.Undecided: record.NotShown} {
		r := &record.Result{Suites: []record.Suite{{Cases: []record.Case{{Checks: []record.Check{{Name: "a", Verdict: verdict}}}}}}}
		r.Seal()
		assert.Equal(t, whole, r.Outcome)
		r.Part = &record.Part{Number: 1, Of: 2}
		r.Seal()
		assert.Equal(t, record.PartEnded, r.Outcome)
		r.Why = record.Stopped
		r.Seal()
		assert.Equal(t, record.NotShown, r.Outcome)
	}
}
