package rig

import (
	"hilrig/rig/signal"
	"hilrig/stimulus"
)

// grid is the grid on which one driven wire sends its pulses or frames.
type grid struct {
	wire   interface{ Delay(by signal.Time) }
	period signal.Time
}

// grids are those of all driven wires that have one.
type grids struct {
	all   []grid
	moves []stimulus.GridMove // those of the program in play that are still to come
}

func newGrids(d *drivers) grids {
	var g grids
	for _, p := range d.pulse {
		if p.encoder != nil {
			g.all = append(g.all, grid{p.encoder, p.frame})
		}
	}
	for i := range d.message {
		g.all = append(g.all, grid{d.message[i].encoder, d.message[i].period})
	}
	for _, s := range d.duty {
		g.all = append(g.all, grid{s.encoder, s.period})
	}
	return g
}

// dither moves every grid by a part of its period, which phase draws.
func (g *grids) dither(phase func(period signal.Time) signal.Time) {
	for _, one := range g.all {
		one.wire.Delay(phase(one.period))
	}
}

// move moves the grids as the program says by its time at.
func (g *grids) move(at signal.Time) {
	for len(g.moves) > 0 && g.moves[0].At <= at {
		for _, one := range g.all {
			one.wire.Delay(g.moves[0].By)
		}
		g.moves = g.moves[1:]
	}
}
