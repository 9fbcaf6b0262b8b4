package measure

import (
	"math"
	"slices"

	"hilrig/plant/portable"
)

// search looks for the hypotheses that explain the readings best.
type search struct {
	all      []reading
	readings []reading // of them, as many as it takes to find a loop
	frame    float64   // s, from frame to frame
	stairs   float64   // s, for which the input is held in between; 0: it never is
	low      float64   // s, ages below which a twentieth of the readings lies
	high     float64   // and above which
	width    float64   // s, over which an age is spread by the resolution, on the average
	exact    *tracker
}

// most is how many readings the search looks at, and few how many at first.
const (
	most = 4000
	few  = 500
)

func newSearch(frame, stairs float64) *search {
	return &search{frame: frame, stairs: stairs, exact: newTracker(64, 0.006, 0.01)}
}

// take makes the search go by these readings, none of them blind.
func (s *search) take(readings []reading) {
	ages := make([]float64, len(readings))
	for i := range readings {
		ages[i] = readings[i].age
	}
	slices.Sort(ages)
	s.all, s.readings = readings, blocks(readings, most)
	widths := 0.0
	for i := range readings {
		widths += readings[i].width
	}
	s.width = widths / float64(len(readings))
	s.low, s.high = ages[len(ages)/20], ages[len(ages)-1-len(ages)/20]
}

// blocks returns at most n readings: stretches spread evenly over all of them.
func blocks(readings []reading, n int) []reading {
	if len(readings) <= n {
		return readings
	}
	const stretches = 10
	var some []reading
	for i := range stretches {
		from := i * len(readings) / stretches
		some = append(some, readings[from:from+n/stretches]...)
	}
	return some
}

// lag returns the lag that puts the middle of the ages in the middle of a period.
func (s *search) lag(period float64) float64 { return (s.low + s.high - period) / 2 }

// candidate is a period with how well it explains the readings.
type candidate struct {
	hypothesis
	off float64 // lag beyond the one that centres the ages, share of period
	fit float64
}

// coarse returns the local maxima over all periods, best first, from a part of
// the readings.
func (s *search) coarse() []candidate {
	const drift = 0.03
	k := newTracker(24, drift, 0.01)
	some := s.readings[:min(few, len(s.readings))]
	shortest := max(ShortestPeriod, 0.6*(s.high-s.low))
	var all []candidate
	for t := shortest; t < LongestPeriod; {
		c := candidate{hypothesis: hypothesis{t, s.lag(t), 0.08}}
		c.fit = k.likelihood(some, c.hypothesis)
		all = append(all, c)
		t *= 1 + min(max(0.7*drift*t/s.frame, 5e-4), 0.03)
	}
	var peaks []candidate
	for i := range all {
		if (i == 0 || all[i].fit >= all[i-1].fit) && (i+1 == len(all) || all[i].fit > all[i+1].fit) {
			peaks = append(peaks, all[i])
		}
	}
	return ranked(peaks)
}

// ranked sorts candidates, best first.
func ranked(c []candidate) []candidate {
	slices.SortStableFunc(c, func(a, b candidate) int {
		switch {
		case a.fit > b.fit:
			return -1
		case a.fit < b.fit:
			return 1
		}
		return 0
	})
	return c
}

// try returns c with the given period, and its fit.
func (s *search) try(readings []reading, c candidate, period, off, noise float64) candidate {
	c.period, c.off, c.noise = period, off, noise
	c.lag = s.lag(period) + float64(off*period)
	c.fit = s.exact.likelihood(readings, c.hypothesis)
	return c
}

// climb refines a candidate on the given readings.
func (s *search) climb(readings []reading, c candidate, width float64) candidate {
	best := s.try(readings, c, c.period, c.off, c.noise)
	better := func(period, off, noise float64) bool {
		if t := s.try(readings, best, period, off, noise); t.fit > best.fit {
			best = t
			return true
		}
		return false
	}
	for _, noise := range []float64{0.02, 0.05, 0.1, 0.2, 0.35} {
		better(best.period, best.off, noise)
	}
	for h := width; h > width/200; h /= 2 {
		if !better(best.period*(1+h), best.off, best.noise) {
			better(best.period*(1-h), best.off, best.noise)
		}
	}
	for h := 0.1; h > 0.01; h /= 2 {
		for better(best.period, best.off+h, best.noise) {
		}
		for better(best.period, best.off-h, best.noise) {
		}
	}
	for _, f := range []float64{1.4, 1 / 1.4, 1.2, 1 / 1.2} {
		better(best.period, best.off, min(best.noise*f, 0.5))
	}
	return best
}

// begin searches all periods and returns the best few, best first.
func (s *search) begin() []candidate {
	peaks := near(s.coarse(), 60, 16)
	part := s.readings[:min(len(s.readings), most/4)]
	for i, c := range peaks {
		peaks[i] = s.climb(part, c, 0.3*0.03*c.period/s.frame)
	}
	return near(apart(ranked(peaks)), 30, 5)
}

// finish refines the candidates on all readings and judges them.
func (s *search) finish(peaks []candidate) Updates {
	for i, c := range peaks {
		peaks[i] = s.climb(s.readings, c, 0.002*c.period/s.frame)
	}
	peaks = apart(ranked(peaks))
	best := peaks[0]
	u := Updates{Period: best.period, Lag: best.lag, Readings: len(s.readings)}
	u.Noise = Joined(best.noise, Resolution(s.width)/best.period)
	if s.locked(best) {
		u.Locked, u.Period, u.Noise = true, s.frame, u.Noise*u.Period/s.frame
		u.Within = Interval{s.frame * (1 - lockedWithin), s.frame * (1 + lockedWithin)}
		return u
	}
	if u.Noise > resolved {
		s.blur(&u)
		return u
	}
	best = s.settle(best)
	u.Period, u.Within = best.period, Interval{s.end(best, -1), s.end(best, 1)}
	for _, c := range peaks[1:] {
		if peaks[0].fit-c.fit < rivalOdds {
			u.Rivals = append(u.Rivals, Peak{c.period, portable.Exp(peaks[0].fit - c.fit)})
		}
	}
	return u
}

// blur marks that no grid is seen. The loop's period is at most about the width
// of the ages, of which s.low to s.high are nine tenths.
func (s *search) blur(u *Updates) {
	u.Blurred, u.Rivals = true, nil
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
	if whole == 1 && s.high-s.low > swept*c.period {
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
	for _, wider := range []float64{0, s.stairs / 2} {
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

// swept is the least part of the period over which the frames have to move
// against the loop, for its period to be told from a fraction of it.
const swept = 0.7

// lockedWithin is the half-width, as a share, of the period of a loop that the
// frames stand still against: they move by less than one period in 100 or more.
const lockedWithin = 0.01

// near returns those of ranked candidates, n at most, that explain the readings
// nearly as well as the best.
func near(c []candidate, worse float64, n int) []candidate {
	c = c[:min(len(c), n)]
	for i := range c {
		if c[0].fit-c[i].fit > worse {
			return c[:i]
		}
	}
	return c
}

// settle refines a candidate's period on all readings, for its mean over all the
// time that was watched.
func (s *search) settle(c candidate) candidate {
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

// apart drops candidates that came to the same period as a better one.
func apart(c []candidate) []candidate {
	var kept []candidate
	for _, a := range c {
		twin := slices.ContainsFunc(kept, func(b candidate) bool { return math.Abs(a.period-b.period) < 2e-3*b.period })
		if !twin {
			kept = append(kept, a)
		}
	}
	return kept
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
