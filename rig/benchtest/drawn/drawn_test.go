//go:build !full

package drawn

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"
)

// Of each so many rows in a row one is tried, over commits each of them, and all where that is wanted.
func TestOneRowOfSoManyIsDrawn(t *testing.T) {
	tried := map[int]bool{}
	for commit := range 100 {
		t.Setenv("HILRIG_DRAW", fmt.Sprintf("commit %d", commit))
		n := 0
		for i := range 12 {
			if Row(i, 4) {
				n++
				tried[i] = true
			}
		}
		assert.Equal(t, 3, n)
	}
	assert.Len(t, tried, 12)
	t.Setenv("HILRIG_DRAW", "all")
	for i := range 12 {
		assert.True(t, Row(i, 4))
	}
}
