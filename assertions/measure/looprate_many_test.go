//go:build !full

package measure_test

import "testing"

func TestUpdatePeriodOfBoardsAtRandom(t *testing.T) {
	if testing.Short() {
		many(t, 6)
		return
	}
	many(t, 20) // 400 with the tag full
}
