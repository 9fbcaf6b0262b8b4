package file_test

import (
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/assertions"
)

// A yaw rate that is to be clear of the demand is as near to it as it may be: of 8 % at 60 deg/s and 50 % a shift gathers for sure
// in 2.5 s from an error on that comes to 2 % of range at the gain that is played, and firmware may take the demand for 5 % more or less.
func TestAYawRateClearOfTheDemandIsAsNearAsThePolicyAsks(t *testing.T) {
	const body = "steer: {near: 20 deg}, throttle: {room: 25 %}, gain: {near: 100 %}, settle: 2.5 s, hold: {yaw_rate: {clear: SHARE of demand}}, expect: [{policy: demand_side}]"
	gathers := []string{"is: 8 %, within: 10 %", "is: 8 %, within: 10 %, grows: integrating, most: 20 %"}
	share := func(written string, replaced ...string) (float64, bool) {
		c, car, bench := triedOn(t, strings.Replace(body, "SHARE", written, 1), slices.Concat(gathers, replaced)...)
		s := &c.Steps[len(c.Steps)-1]
		return s.Values.YawRate / s.Demand, slices.ContainsFunc(c.Planned(0, car, bench), func(p assertions.Planned) bool { return p.Asked })
	}
	demand := 4 * 20 / (0.33 + 0.0028*16)
	least := 0.02/(0.16/60)/demand + 0.05
	below, asked := share("90 %")
	require.True(t, asked)
	assert.Less(t, below, 1-least)
	assert.Greater(t, below, 1-1.25*(least+0.01), "and not a quarter farther than it takes")
	above, asked := share("110 %")
	assert.True(t, asked)
	assert.InDelta(t, 1-below, above-1, 0.03)
	wide, asked := share("90 %", "    within: 5 %", "    within: 15 %")
	assert.True(t, asked)
	assert.Less(t, wide, below-0.08, "a wider tolerance asks for more")
	none, asked := share("90 %", "is: 8 %", "is: 0.5 %")
	assert.False(t, asked, "so small a shift gathers to nothing near the demand")
	assert.InDelta(t, 0.9, none, 1e-9, "it stands as it is written")
}
