package suites_test

import (
	"encoding/json"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/suites"
	"hilrig/suites/record"
)

// TestARecordHasNoZeroForWhatWasNotMeasured plays to a board that sends nothing, so that
// nothing of it can be measured.
func TestARecordHasNoZeroForWhatWasNotMeasured(t *testing.T) {
	r, _ := play(t, load(t, bramble("null:silent", "split", "timing")), suites.Options{})
	unmeasured := 0
	for _, s := range r.Suites {
		for _, c := range s.Cases {
			for _, k := range c.Checks {
				if k.Quantity != "" {
					require.NotNil(t, k.Estimate, k.Name)
					continue
				}
				assert.NotEqual(t, record.Pass, k.Verdict, k.Name)
				if k.Verdict != record.NotAsked {
					unmeasured++
					assert.NotEmpty(t, k.Why, k.Name)
				}
				for name, x := range map[string]*float64{
					"estimate": k.Estimate, "low": k.Low, "high": k.High, "limit_low": k.LimitLow, "limit_high": k.LimitHigh,
					"statistics": k.Statistics, "instrument": k.Instrument,
				} {
					assert.Nil(t, x, "%s of %s", name, k.Name)
				}
			}
		}
	}
	assert.NotZero(t, unmeasured)
	text, err := json.Marshal(r)
	require.NoError(t, err)
	assert.NotContains(t, string(text), `"estimate":0,"low":0,"high":0`)
}
