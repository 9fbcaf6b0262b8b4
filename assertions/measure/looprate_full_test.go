//go:build full

package measure_test

import "testing"

// sample chooses the size of a sample: the full one.
func sample(full, _ int) int { return full }

func TestUpdatePeriodOfBoardsAtRandom(t *testing.T) { many(t, 400, 20) }
