package measure

import (
	"cmp"
	"math"
	"slices"
)

// search looks for the hypotheses that explain the readings best.
type search struct {
	all       []reading
	readings  []reading // of them, as many as it takes to find a loop
	frame     float64   // s, from frame to frame
	staircase float64   // s, for which the input is held in between; 0 where it is not held
	low       float64   // s, ages below which a twentieth of the readings lies
	high      float64   // and above which
	width     float64   // s, over which an age is spread by the resolution, on the average
	exact     *tracker
}

// most is how many readings the search looks at, and few how many at first.
const (
	most = 4000
	few  = 500
)

func newSearch(frame, staircase float64) *search {
	return &search{frame: frame, staircase: staircase, exact: newTracker(64, 0.006, 0.01)}
}

// setReadings makes the search go by these readings, none of them blind.
func (s *search) setReadings(readings []reading) {
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
	const drift = 0.03 // the more, the broader the maxima, and the coarser the grid may be
	k := newTracker(24, drift, 0.01)
	some := s.readings[:min(few, len(s.readings))]
	from := max(ShortestPeriod, 0.6*(s.high-s.low))
	var all []candidate
	for t := from; t < LongestPeriod; {
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
	for i, c := range peaks {
		for h := 0.35 * drift * c.period / s.frame; h > 0.02*drift*c.period/s.frame; h /= 2 {
			for _, period := range []float64{c.period * (1 + h), c.period * (1 - h)} {
				t := candidate{hypothesis: hypothesis{period, s.lag(period), c.noise}}
				if t.fit = k.likelihood(some, t.hypothesis); t.fit > peaks[i].fit {
					peaks[i] = t
				}
			}
			c = peaks[i]
		}
	}
	return ranked(peaks)
}

// ranked sorts candidates, best first.
func ranked(c []candidate) []candidate {
	slices.SortStableFunc(c, func(a, b candidate) int { return cmp.Compare(b.fit, a.fit) })
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

// searchAll searches all periods and returns the best few, best first.
func (s *search) searchAll() []candidate {
	peaks := near(s.coarse(), 60, 16)
	part := s.readings[:min(len(s.readings), most/4)]
	for i, c := range peaks {
		peaks[i] = s.climb(part, c, 0.003*c.period/s.frame)
	}
	peaks = near(apart(ranked(peaks)), 30, 5)
	for _, c := range peaks {
		peaks = append(peaks, s.around(part, c)...)
	}
	return near(apart(ranked(peaks)), 30, 5)
}

// around returns the maxima beside a candidate. Readings come in stretches,
// where the output is steep, so that a period with one turn more or less from
// stretch to stretch explains them nearly as well.
func (s *search) around(readings []reading, c candidate) []candidate {
	step := 0.002 * c.period / s.frame
	var row []candidate
	for i := -25; i <= 25; i++ {
		row = append(row, s.try(readings, c, c.period*(1+float64(float64(i)*step)), c.off, c.noise))
	}
	var found []candidate
	for i := 1; i+1 < len(row); i++ {
		if row[i].fit > row[i-1].fit && row[i].fit >= row[i+1].fit && row[i].fit > c.fit-30 {
			found = append(found, s.climb(readings, row[i], step))
		}
	}
	return found
}

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

// apart drops candidates that came to the same period as a better one.
func apart(c []candidate) []candidate {
	var kept []candidate
	for _, a := range c {
		known := slices.ContainsFunc(kept, func(b candidate) bool { return math.Abs(a.period-b.period) < 2e-3*b.period })
		if !known {
			kept = append(kept, a)
		}
	}
	return kept
}
