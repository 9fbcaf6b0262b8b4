//go:build full

package suites

import "testing"

func TestRateOfDrawnBoards(t *testing.T) { tellAll(t, 0, 400) }

func sampleOfWindows() []int { return []int{12, 15, 19, 217} }

// oneClockSeeds is how many draws are played of each board with one clock.
const oneClockSeeds = 5
