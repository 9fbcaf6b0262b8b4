//go:build full

package search

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

// A false alarm is worse than a miss: whoever reads one mends firmware that is right.
func TestNothingIsFoundInHealthyBoardsAtManySeeds(t *testing.T) {
	for _, board := range []string{"built-in", "built-in/moment", "from-policy"} {
		for seed := range uint64(4) {
			r := searched(t, board, 100+seed, Options{Drives: 400})
			assert.Empty(t, r.Found, "%s: %s", board, r.Text(nil))
			assert.Empty(t, r.NotAgain, board)
			t.Logf("%s at seed %d: %d drives, %d judged, %.0f s driven, %d combinations", board, r.Seed, r.Drives, r.Judged, r.Driving.Seconds(), r.Reached)
		}
	}
}
