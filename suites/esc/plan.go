package esc

import (
	"slices"

	"hilrig/assertions/characteristic"
	"hilrig/plant/portable"
	"hilrig/suites/file"
)

// point is one level that is read once.
type point struct {
	level     int // index into the plan's levels
	direction characteristic.Direction
	cycle     int
	place     place
}

// place is where in a plan a point stands.
type place uint8

const (
	among place = iota // the cycles
	first              // before them
	again              // after them
)

// firstPoint returns the point that is read before all others, or again after them: the highest level, from
// below, where the controller is warmest. A controller that weakens with heat shows it there most.
func firstPoint(p *file.StandPlan, at place, cycle int) point {
	return point{level: len(p.Levels) - 1, direction: characteristic.Up, cycle: cycle, place: at}
}

// order returns the points of a plan's cycles in the order in which they are played: each cycle up and then
// down, in sequence or drawn by the seed.
func order(p *file.StandPlan, seed uint64) (points []point) {
	draw := portable.NewNoise(seed, "order of levels")
	n := len(p.Levels)
	way := make([]int, n)
	for cycle := range p.Cycles {
		for _, d := range []characteristic.Direction{characteristic.Up, characteristic.Down} {
			for i := range way {
				way[i] = i
			}
			if d == characteristic.Down {
				slices.Reverse(way)
			}
			if p.Drawn {
				for i := n - 1; i > 0; i-- {
					j := int(draw.Uint64() % uint64(i+1))
					way[i], way[j] = way[j], way[i]
				}
			}
			for _, level := range way {
				points = append(points, point{level: level, direction: d, cycle: cycle})
			}
		}
	}
	return points
}

// approach returns the command that is held before a level: the next lower on the way up, idle before the
// lowest; the next higher on the way down, and before the highest, where the way turns, itself.
func approach(p *file.StandPlan, level int, d characteristic.Direction) float64 {
	if d == characteristic.Up {
		if level == 0 {
			return 0
		}
		return p.Levels[level-1]
	}
	return p.Levels[min(level+1, len(p.Levels)-1)]
}

// fine is one small change of command: from is held before, to is read.
type fine struct {
	at, change float64
	reversal   bool
}

// fineChanges lists the small changes of one cycle: at each command and for each size, one in the sense in which it
// was approached and one back.
func fineChanges(p *file.StandPlan) (list []fine) {
	for _, at := range p.FineAt {
		for _, step := range p.FineSteps {
			list = append(list, fine{at, step, false}, fine{at, -step, true})
		}
	}
	return list
}
