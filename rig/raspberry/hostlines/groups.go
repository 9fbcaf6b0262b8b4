package hostlines

import "hilrig/rig/signal"

// groups gives the lines of one encoder one number, and every other line its own.
func groups(layout signal.Layout) []uint8 {
	out := make([]uint8, len(layout.Lines))
	of := [len(signal.Wheels) + 1]int{} // by wheel: 1 + the number of its encoder, 0 where it has none yet
	next := 0
	for i, l := range layout.Lines {
		n := next
		if l.Role.Quadrature() && l.Wheel != signal.NoWheel {
			if of[l.Wheel] == 0 {
				of[l.Wheel] = next + 1
			}
			n = of[l.Wheel] - 1
		}
		out[i] = uint8(n)
		if n == next {
			next++
		}
	}
	return out
}
