package registers

import (
	"fmt"

	"hilrig/rig/signal"
)

// Plan holds edges, which follow on from, against the level that each line will have
// by then, and brings those levels up to date. On an error they stay as they were.
func Plan(planned []bool, edges []signal.Edge, from, until signal.Time, drives func(l signal.Line) bool) error {
	last := from
	for i, e := range edges {
		if int(e.Line) >= len(planned) || e.At < last || e.At > until || planned[e.Line] == e.Level || !drives(e.Line) {
			for _, back := range edges[:i] {
				planned[back.Line] = !planned[back.Line]
			}
			return fmt.Errorf("driven edge at %v on line %d to %t is of the past, of no driven line, out of order or later than %v, or repeats the line's level; edges were handed over until %v", e.At, e.Line, e.Level, until, from)
		}
		planned[e.Line] = e.Level
		last = e.At
	}
	return nil
}
