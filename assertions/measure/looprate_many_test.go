//go:build !full

package measure_test

import "testing"

// sample chooses the size of a sample: the full one with the tag full, else the smaller.
func sample(_, smaller int) int { return smaller }

func TestUpdatePeriodOfBoardsAtRandom(t *testing.T) { many(t, 8) } // 400 with the tag full
