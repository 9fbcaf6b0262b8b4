package measure

import (
	"math"

	"hilrig/plant/portable"
)

// finish refines the candidates on all readings and judges them.
func (s *search) finish(peaks []candidate) Updates {
	for i, c := range peaks {
		peaks[i] = s.climb(s.readings, c, 0.002*c.period/s.frame)
	}
	peaks = apart(ranked(peaks))
	best := peaks[0]
	u := Updates{Period: best.period, Lag: best.lag, Readings: len(s.readings)}
	u.Noise = RootSumSquare(best.noise, Resolution(s.width)/best.period)
	if s.locked(best) {
		u.Locked, u.Period, u.Noise = true, s.frame, u.Noise*u.Period/s.frame
		u.Within = Interval{s.frame * (1 - lockedWithin), s.frame * (1 + lockedWithin)}
		return u
	}
	if u.Noise > resolved {
		s.markUnresolved(&u)
		return u
	}
	best = s.refine(best)
	u.Period, u.Within = best.period, Interval{s.end(best, -1), s.end(best, 1)}
	for _, c := range peaks[1:] {
		if peaks[0].fit-c.fit < aliasOdds {
			u.Aliases = append(u.Aliases, Peak{c.period, portable.Exp(peaks[0].fit - c.fit)})
		}
	}
	return u
}

// markUnresolved marks that no grid is seen. The loop's period is at most about the width
// of the ages, of which s.low to s.high are nine tenths.
func (s *search) markUnresolved(u *Updates) {
	u.Unresolved, u.Aliases = true, nil
	u.Within = Interval{shortest, max(1.2*u.Period, 1.2*(s.high-s.low)/0.9)}
}

// shortest is the period of the fastest loop that a board may have, s.
const shortest = 10e-6

// resolved is how far the readings may stand from the grid, as a share of the
// period, for the grid to be believed.
const resolved = 0.22

// locked says whether the readings are explained as well by frames that stand
// still against the loop, or nearly, so that all ages are about the same. Then
// a half of the loop's period, a third and so on explain them too.
func (s *search) locked(c candidate) bool {
	if s.frame < 0.75*c.period {
		return false
	}
	turns := s.frame / c.period
	whole := math.Round(turns)
	if whole == 1 && s.high-s.low > sweptShare*c.period {
		return false
	}
	frames := (s.all[len(s.all)-1].at - s.all[0].at) / s.frame
	if whole > 1 && math.Abs(turns-whole)*frames < 1.2+float64(1e-4*whole*frames) {
		return true // in all that time they move by a turn at most
	}
	// Round a circle that is much longer than the ages spread, with the same
	// movement from frame to frame in seconds, and none from loop to loop.
	const longer = 4
	still := newTracker(longer*s.exact.bins, s.exact.drift/longer, 0)
	h := hypothesis{period: longer * c.period}
	h.lag = s.lag(h.period)
	spread := (s.high - s.low) / h.period
	readings := make([]reading, len(s.readings))
	for _, wider := range []float64{0, s.staircase / 2} {
		for i, r := range s.readings {
			r.at = math.Round((r.at-s.readings[0].at)/s.frame) * h.period
			r.width += wider
			readings[i] = r
		}
		for _, noise := range []float64{c.noise / longer, spread / 12, spread / 6, spread / 4} {
			h.noise = noise
			if still.likelihood(readings, h) > c.fit-lockedOdds {
				return true
			}
		}
	}
	return false
}

// lockedOdds is by how much, as a logarithm, a loop has to explain the readings
// better than one that stands still: so much that no shape of the noise does it.
const lockedOdds = 30

// sweptShare is the least part of the period over which the frames have to move
// against the loop, for its period to be told from a fraction of it.
const sweptShare = 0.7

// lockedWithin is the half-width, as a share, of the period of a loop that the
// frames stand still against: they move by less than one period in 100 or more.
const lockedWithin = 0.01

// refine refines a candidate's period on all readings, for its mean over all the
// time that was watched.
func (s *search) refine(c candidate) candidate {
	best := s.try(s.all, c, c.period, c.off, c.noise)
	for h := 0.0005 * c.period / s.frame; h > 1e-6; h /= 2 {
		for _, period := range []float64{best.period * (1 + h), best.period * (1 - h)} {
			if t := s.try(s.all, best, period, best.off, best.noise); t.fit > best.fit {
				best = t
				break
			}
		}
	}
	return best
}

// end returns where, going down or up from the best period, the likelihood has
// dropped.
func (s *search) end(c candidate, sign float64) float64 {
	low, high := 0.0, 1e-5
	fits := func(h float64) bool {
		t := s.try(s.all, c, c.period*(1+float64(sign*h)), c.off, c.noise)
		return c.fit-t.fit < dropped
	}
	for high < 0.2 && fits(high) {
		low, high = high, 2*high
	}
	for range 4 {
		if h := (low + high) / 2; fits(h) {
			low = h
		} else {
			high = h
		}
	}
	return c.period * (1 + float64(sign*high))
}
