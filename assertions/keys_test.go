package assertions_test

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"

	"hilrig/assertions"
	"hilrig/assertions/law"
)

func TestTheSafeStateIsAskedWhereALossStopsTheMotors(t *testing.T) {
	for then, asked := range map[law.LossThen]bool{law.LossIdle: true, law.LossNoShift: false, law.LossIgnored: false} {
		p := &law.Policy{ThrottleLost: &law.Loss{Then: then}, YawLost: &law.Loss{Then: then}, SafeState: law.OutputsSilent}
		for _, of := range []string{"throttle_lost", "yaw_lost"} {
			assert.Equal(t, asked, slices.Contains(assertions.KeysAsked(of, p), "safe_state"), "%s, then %v", of, then)
		}
		assert.NotContains(t, assertions.KeysAsked("receiver_lost", p), "safe_state")
	}
}

func TestKeysOfNameSituationsOnce(t *testing.T) {
	for _, s := range assertions.Situations {
		keys := assertions.KeysOf(s)
		assert.Equal(t, s, keys[0])
		seen := map[string]bool{}
		for _, k := range keys {
			assert.False(t, seen[k], "%s names %s twice", s, k)
			seen[k] = true
		}
	}
}
