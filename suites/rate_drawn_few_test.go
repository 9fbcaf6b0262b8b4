//go:build !full

package suites

import "testing"

// Drawn boards, two of the four hundred of the tag full.
func TestRateOfDrawnBoards(t *testing.T) { tellAll(t, 0, 2) }

func sampleOfWindows() []int { return []int{19} }

// oneClockSeeds is how many draws are played of each board with one clock.
const oneClockSeeds = 1
