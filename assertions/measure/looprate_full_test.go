//go:build full

package measure_test

import "testing"

func TestUpdatePeriodOfBoardsAtRandom(t *testing.T) { many(t, 400) }
