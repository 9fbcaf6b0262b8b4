//go:build full

package suites

import "testing"

func TestRateOfDrawnBoards(t *testing.T) { tellAll(t, 0, 400) }
