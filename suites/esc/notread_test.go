package esc_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"hilrig/assertions/characteristic"
	"hilrig/suites/esc"
)

// Levels that do not reach a held speed are named one by one or as a range; a level that reaches the lower of two is read there.
func TestLevelsThatWereNotReachedAreNamed(t *testing.T) {
	const levels = "plan: {margin: 20 %, levels: [0 %, 5 %, 10 %, 20 %, 25 %, 28 %, 35 %, 40 %, 60 %, 80 %, 90 %, 95 %, 100 %], fine_at: 20 %, fine_steps: 5 %}"
	out := run(t, &esc.Setup{Stand: standFile(t, "at: 60 rad/s", "at: [60 rad/s, 120 rad/s]", "plan: {margin: 20 %}", levels), Seed: 1})
	cases := out.Result.Suites[0].Cases
	assert.Equal(t, "not reached: 0 %, 5 %, 10 %", cases[0].Notes[0])
	assert.NotContains(t, cases[1].Notes[0], "reached", "it is said once")
	assert.Equal(t, "not reached: 0 % to 25 % (5 levels)", cases[2].Notes[0])
	for i, set := range out.Sets {
		for _, r := range set.Readings {
			assert.NotEqual(t, characteristic.Dropped, r.Status, "%v %v %s", i, set.Levels[r.Level], r.Why)
		}
	}
	assert.Contains(t, figure(out, 2, characteristic.KeyDeadBand).Why, "small changes about 20 % give no reading here; choose fine_at among")
}
