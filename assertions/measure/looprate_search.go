package measure

import (
	"cmp"
	"math"
	"slices"
)

// search looks for the hypotheses that explain the frames best.
type search struct {
	all         []shown
	raw         []Answer  // the frames as they came
	step        float64   // of their values
	frames      []shown   // of them, as many as it takes to find a loop
	times       []float64 // s, when each frame began
	frame       float64   // s, from frame to frame
	staircase   float64   // s, for which the input is held in between; 0 where it is not held
	age         float64   // s, mean of the frames
	uncertainty float64   // s, how far off it may be
	noise       float64   // of the output, as far as the fit tells it
	spread      float64   // s, the period over which the ages lie evenly, as far as the fit tells it
	likely      Interval  // s, where other evidence has the period
	exact       *tracker
	rough       *tracker
	more        [mostTurns + 1]*tracker // for loops that read the input in one of so many turns
}

// mostTurns is how many turns are looked for at most between readings of the input.
const mostTurns = 8

// several returns a tracker for so many turns between readings of the input.
func (s *search) several(turns int) *tracker {
	k := s.more[turns]
	if k == nil {
		k = newTracker(max(20, 64/turns)*turns, s.exact.drift, nil, s.exact.around)
		s.more[turns] = k
	}
	k.curve = s.exact.curve
	return k
}

// most is how many frames the search looks at, and few how many at first.
const (
	most = 4000
	few  = 600
)

// newSearch makes a search in frames, whose values range over so much.
func newSearch(m *mapping, frames []Answer, step float64) *search {
	s := &search{frame: spacing(frames), raw: frames, step: step}
	if m.in.Staircase {
		s.staircase = m.in.Step
	}
	values := RangeOf()
	for i := range frames {
		values.Include(frames[i].Value)
	}
	for i := range frames {
		s.times = append(s.times, frames[i].At)
	}
	s.all = showing(frames, step)
	s.frames = blocks(s.all, most)
	s.look(m, frames)
	around := 2 / max(values.Width(), 1e-9)
	s.exact = newTracker(64, 0.002, s.rough.curve, around)
	s.rough.around = around
	return s
}

// look takes a mapping that was fitted anew.
func (s *search) look(m *mapping, frames []Answer) {
	c := m.curve(frames[0].At-0.2, frames[len(frames)-1].At+0.1)
	if s.rough == nil {
		s.rough = newTracker(24, roughDrift, c, 0)
	}
	s.rough.curve = c
	if s.exact != nil {
		s.exact.curve = c
	} else {
		s.noise, s.spread = m.spread(unclipped(frames, s.all[0].half*2), c)
		s.noise = max(s.noise, 0.3*s.all[0].half)
	}
	s.age, s.uncertainty = m.lag-m.behind, 0.25e-3
	if m.share != 0 {
		s.uncertainty += 4e-3 / math.Sqrt(m.gain)
	}
}

// blocks returns at most n frames: stretches spread evenly over all of them.
func blocks(frames []shown, n int) []shown {
	if len(frames) <= n {
		return frames
	}
	const stretches = 10
	var some []shown
	for i := range stretches {
		from := i * len(frames) / stretches
		some = append(some, frames[from:from+n/stretches]...)
		some[i*(n/stretches)].gap = true
	}
	return some
}

// candidate is a hypothesis with how well it explains the frames.
type candidate struct {
	hypothesis
	off float64 // lag beyond the one that puts the mean age into the middle of a period, share of period
	fit float64
}

// at sets a candidate's period and what its lag is beyond the middle.
func (s *search) at(c candidate, period, off float64) candidate {
	c.period, c.off = period, off
	c.lag = s.age - float64((0.5-off)*c.turn())
	return c
}

// bounded says whether other evidence has the period within bounds.
func (s *search) bounded() bool { return !math.IsInf(s.likely.High, 1) }

// holds says whether a period is within them.
func (s *search) holds(period float64) bool {
	return s.likely.Low <= period && period <= s.likely.High
}

// roughDrift is the more, the broader the maxima, and the coarser the grid may be.
const roughDrift = 0.03

// coarse returns the local maxima over all periods, best first, from a part of
// the frames.
func (s *search) coarse() []candidate {
	k := s.rough
	some := s.frames[:min(few, len(s.frames))]
	from, to := ShortestPeriod, LongestPeriod
	if s.spread > 0 {
		from, to = min(max(from, 0.15*s.spread), 0.5*to), max(min(to, 4*s.spread), 4*from)
	}
	if s.bounded() {
		from, to = max(0.8*s.likely.Low, ShortestPeriod), min((mostTurns+0.5)*s.likely.High, LongestPeriod)
		if s.spread > 0 {
			to = min(to, max(4*s.spread, 1.2*s.likely.High))
		}
		to = max(to, 1.5*from)
	}
	blank := candidate{hypothesis: hypothesis{jitter: 0.05, wander: 0.02, noise: s.noise, repeat: repeats[0]}}
	fit := func(period float64) candidate {
		c := s.at(blank, period, 0)
		if short := -s.ahead(&c.hypothesis) - c.lag; short > 0 {
			c = s.at(blank, period, min(short/period, 0.5))
		}
		c.fit = k.likelihood(some, &c.hypothesis)
		return c
	}
	var all []candidate
	for t := from; t < to; {
		all = append(all, fit(t))
		t *= 1 + min(max(0.7*roughDrift*t/s.frame, 2e-3), 0.03)
	}
	var peaks []candidate
	for i := range all {
		if (i == 0 || all[i].fit >= all[i-1].fit) && (i+1 == len(all) || all[i].fit > all[i+1].fit) {
			peaks = append(peaks, all[i])
		}
	}
	if s.bounded() {
		peaks = s.fitting(ranked(peaks))
	}
	peaks = near(ranked(peaks), 60, 24)
	for i, c := range peaks {
		for h := 0.35 * roughDrift * c.period / s.frame; h > 0.02*roughDrift*c.period/s.frame; h /= 2 {
			for _, period := range []float64{c.period * (1 + h), c.period * (1 - h)} {
				if t := fit(period); t.fit > peaks[i].fit {
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

// fitted returns c with its fit. No frame shows what is read after it.
func (s *search) fitted(frames []shown, c candidate) candidate {
	if c.lag < -s.ahead(&c.hypothesis) {
		c.fit = math.Inf(-1)
		return c
	}
	k := s.exact
	if c.per > 1 {
		k = s.several(c.per)
	}
	c.fit = k.likelihood(frames, &c.hypothesis)
	return c
}

// ahead returns by how much a frame may seem to come before the reading that it shows, s, by the
// uncertainty of the mean age.
func (s *search) ahead(h *hypothesis) float64 { return float64(0.15*h.turn()) + s.uncertainty }

// The jitters and wanders that are tried, shares of period, rms.
var (
	jitters = []float64{0.005, 0.02, 0.05, 0.1}
	repeats = []float64{0.01, 0.05, 0.2, 0.5}
	wanders = []float64{0.003, 0.006, 0.009, 0.012, 0.015, 0.019, 0.024, 0.03, 0.04}
)

// climb refines a candidate on the given frames.
func (s *search) climb(frames []shown, c candidate, width float64) candidate {
	return s.refined(frames, s.quick(frames, c, width))
}

// quick refines a candidate's period, lag and noise.
func (s *search) quick(frames []shown, c candidate, width float64) candidate {
	best := s.fitted(frames, c)
	better := func(c candidate) bool {
		if t := s.fitted(frames, c); t.fit > best.fit {
			best = t
			return true
		}
		return false
	}
	for h := width; h > width/200; h /= 2 {
		if !better(s.at(best, best.period*(1+h), best.off)) {
			better(s.at(best, best.period*(1-h), best.off))
		}
	}
	for h := 0.1; h > 0.01; h /= 2 {
		for best.off < 1 && better(s.at(best, best.period, best.off+h)) {
		}
		for best.off > -1 && better(s.at(best, best.period, best.off-h)) {
		}
	}
	return best
}

// refined refines what a candidate says of noise, jitter and wander.
func (s *search) refined(frames []shown, c candidate) candidate {
	best := c
	better := func(c candidate) bool {
		if t := s.fitted(frames, c); t.fit > best.fit {
			best = t
			return true
		}
		return false
	}
	noises := func() {
		for _, f := range []float64{1.5, 1 / 1.5} {
			for range 8 {
				t := best
				if t.noise *= f; !better(t) {
					break
				}
			}
		}
	}
	noises()
	for range 2 {
		for _, j := range jitters {
			t := best
			t.jitter = j
			better(t)
		}
		for _, w := range wanders {
			t := best
			t.wander = w
			better(t)
		}
	}
	for _, r := range repeats {
		t := best
		t.repeat = r
		better(t)
	}
	noises()
	return best
}

// searchAll searches all periods and returns the best few, best first.
func (s *search) searchAll() []candidate {
	peaks := near(s.coarse(), 60, 8)
	part := s.frames[:min(len(s.frames), most/4)]
	for i, c := range peaks {
		peaks[i] = s.quick(part, c, 0.003*c.period/s.frame)
	}
	peaks = near(apart(ranked(peaks)), 60, 4)
	for i, c := range peaks {
		peaks[i] = s.refined(part, c)
	}
	peaks = near(ranked(peaks), 30, 4)
	for _, c := range peaks[:min(2, len(peaks))] {
		peaks = append(peaks, s.around(part, c)...)
	}
	return near(apart(ranked(peaks)), 30, 5)
}

// fitting returns those candidates whose period, or a whole part of it, is within the
// bounds.
func (s *search) fitting(c []candidate) []candidate {
	return slices.DeleteFunc(c, func(c candidate) bool {
		for per := 1; per <= mostTurns; per++ {
			if part := c.period / float64(per); part > 0.97*s.likely.Low && part < 1.03*s.likely.High {
				return false
			}
		}
		return true
	})
}

// around returns the maxima beside a candidate. Frames tell most in stretches,
// where the output is steep, so that a period with one turn more or less from
// stretch to stretch explains them nearly as well.
func (s *search) around(frames []shown, c candidate) []candidate {
	step := 0.002 * c.period / s.frame
	var row []candidate
	for i := -25; i <= 25; i++ {
		row = append(row, s.fitted(frames, s.at(c, c.period*(1+float64(float64(i)*step)), c.off)))
	}
	var found []candidate
	for i := 1; i+1 < len(row); i++ {
		if row[i].fit > row[i-1].fit && row[i].fit >= row[i+1].fit && row[i].fit > c.fit-20 {
			found = append(found, row[i])
		}
	}
	found = near(ranked(found), 20, 4)
	for i, c := range found {
		found[i] = s.quick(frames, c, step)
	}
	return found
}

// near returns those of ranked candidates, n at most, that explain the frames
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
		known := slices.ContainsFunc(kept, func(b candidate) bool { return math.Abs(a.turn()-b.turn()) < 2e-3*b.turn() })
		if !known {
			kept = append(kept, a)
		}
	}
	return kept
}
