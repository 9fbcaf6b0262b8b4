package board

import (
	"math"

	"hilrig/rig/signal"
)

// grown is what an integrating law remembers.
type grown struct {
	amount float64 // share of range
	who    signs   // whom it moves, 1 up and -1 down: the shares of those of one sense may vary
}

// grow returns how far the motors of who are moved where in proportion it would be by that
// share of range; now is one turn of the loop later than before.
func (g *grown) grow(s *Settings, who signs, proportional float64) float64 {
	switch s.Grows {
	case Saturating:
		return proportional * s.Most / (proportional + s.Most)
	case Integrating:
		if who = who.senses(); who != g.who || proportional == 0 {
			*g = grown{who: who}
		}
		g.amount = min(g.amount+float64(proportional*turns(s.LoopPeriod, s.GrowsIn)), s.Most)
		return g.amount
	}
	return proportional
}

// turns returns which share of a time one turn of the loop is.
func turns(turn, of signal.Time) float64 { return float64(turn) / float64(of) }

// steppedGain returns the step of the gain that is nearest to its trim, or that the settings have there.
func (s *Settings) steppedGain(gain float64) float64 {
	if len(s.GainEdges) > 0 && len(s.GainSteps) == len(s.GainEdges)+1 {
		above := 0
		for above < len(s.GainEdges) && gain >= s.GainEdges[above] {
			above++
		}
		return s.GainSteps[above]
	}
	nearest := gain
	least := 2.0
	for _, step := range s.GainSteps {
		if d := math.Abs(step - gain); d < least {
			nearest, least = step, d
		}
	}
	return nearest
}

// error returns what the shift is in proportion to, where the error is above the dead band, and
// the share of range for each rad/s of it at ShiftGain.
func (s *Settings) proportion(err float64) (over, from float64) {
	if s.WholeBand {
		return err, s.ShiftError
	}
	return err - s.DeadBand, s.ShiftError - s.DeadBand
}

// fades returns how much of the shift is left in a situation, 0 to 1.
func (s *Settings) fades(x *situation, demand float64) float64 {
	share := 1.0
	if s.StandFull > s.Standstill {
		share *= fade(math.Abs(x.speed), s.Standstill, s.StandFull)
	}
	if t := &s.Straight; *t != (Straight{}) {
		share *= fade(math.Abs(x.steer), t.SteerFrom, t.SteerFull) * fade(math.Abs(demand), t.DemandFrom, t.DemandFull)
	}
	return share
}

// fade goes from 0 up to from to 1 at full.
func fade(x, from, full float64) float64 {
	switch {
	case full == 0:
		return 1 // not looked at
	case x >= full:
		return 1
	case x <= from:
		return 0
	}
	return (x - from) / (full - from)
}
