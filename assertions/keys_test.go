package assertions_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"hilrig/assertions"
)

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
