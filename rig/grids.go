package rig

import (
	"hilrig/rig/signal"
	"hilrig/stimulus"
)

// grid is the grid on which one driven wire sends its pulses or frames.
type grid interface {
	Period() signal.Time
	Delay(by signal.Time)
}

// grids are those of all driven wires that have one.
type grids struct {
	all   []grid
	moved []grid              // those that the moves of a program move
	moves []stimulus.GridMove // those of the program in play that are still to come
}

func newGrids(d *drivers) grids {
	var g grids
	for _, p := range d.pulse {
		if p.encoder != nil {
			g.all = append(g.all, p.encoder)
		}
	}
	for i := range d.message {
		g.all = append(g.all, d.message[i].encoder)
	}
	g.moved = g.all[:len(g.all):len(g.all)]
	for _, s := range d.duty {
		g.all = append(g.all, s)
	}
	return g
}

// dither moves every grid by a part of its period, which phase draws.
func (g *grids) dither(phase func(period signal.Time) signal.Time) {
	for _, one := range g.all {
		one.Delay(phase(one.Period()))
	}
}

// move moves the grids as the program says by its time at, each by what is left of the move
// beside whole frames. Wheel sensors keep theirs: a pause in their pulses is a wheel that stops.
func (g *grids) move(at signal.Time) {
	for len(g.moves) > 0 && g.moves[0].At <= at {
		for _, one := range g.moved {
			if by := g.moves[0].By; one.Period() > 0 {
				one.Delay(by % one.Period())
			}
		}
		g.moves = g.moves[1:]
	}
}
