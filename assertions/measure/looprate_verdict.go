package measure

import (
	"math"

	"hilrig/plant/portable"
)

// finish refines the candidates on all frames and judges them.
func (s *search) finish(peaks []candidate) Updates {
	for i, c := range peaks {
		peaks[i] = s.climb(s.frames, c, 0.002*c.period/s.frame)
	}
	peaks = apart(ranked(peaks))
	best := peaks[0]
	u := Updates{Period: best.period, Lag: best.lag, Readings: len(s.all)}
	blurred := s.blurred(best)
	still := s.still(best, blurred)
	// Ages that spread over much less than a period are those of frames at one point of the loop.
	stands := still > best.fit-lockedOdds || blurred.within.High < sweptShare*best.turn() || s.whole(best)
	if stands && blurred.within.High < standsWithin*s.frame {
		return s.stands(u)
	}
	needed := float64(resolved)
	if s.bounded() {
		needed = resolvedWithin
	}
	if noise := best.noise / s.steep() / best.turn(); noise > noisy {
		needed += noisyOdds * (noise - noisy)
	}
	if best.fit-blurred.fit < needed {
		s.markUnresolved(&u, blurred)
		return u
	}
	if s.patterned(best) {
		s.markUnresolved(&u, blurred)
		return u
	}
	u.Slips = best.wander >= wanders[len(wanders)-1]
	best, others := s.turned(best)
	if s.bounded() && !s.holds(best.turn()) || best.per > 1 && u.Slips {
		s.markUnresolved(&u, blurred)
		return u
	}
	u.Period = best.turn()
	s.uncertainty = math.Inf(1) // what is left is one maximum, whose ends the mean age has no say in
	best = s.refine(best)
	u.Period, u.Within = best.turn(), s.within(best)
	for _, c := range peaks[1:] {
		if peaks[0].fit-c.fit < aliasOdds {
			u.Aliases = append(u.Aliases, Peak{c.turn(), portable.Exp(peaks[0].fit - c.fit)})
		}
	}
	for _, c := range others {
		u.Aliases = append(u.Aliases, Peak{c.turn(), portable.Exp(min(max(others[0].fit-c.fit, 0), aliasOdds))})
	}
	return u
}

// stands judges frames that all show the loop at the same point.
func (s *search) stands(u Updates) Updates {
	mean, half, uneven := s.uneven()
	if uneven {
		u.Period, u.Within, u.Paced = mean, Interval{mean - half, mean + half}, true
		return u
	}
	u.Locked, u.Period = true, s.frame
	u.Within = Interval{s.frame * (1 - lockedWithin), s.frame * (1 + lockedWithin)}
	return u
}

// sweptShare is the least part of the period over which the ages of the frames have to
// spread, for the period to be believed; standsWithin is the most of the time from frame to
// frame over which they spread where they stand still.
const (
	sweptShare   = 0.35
	standsWithin = 0.35
)

// steep returns the curve's rms slope, 1/s.
func (s *search) steep() float64 {
	sum := 0.0
	for _, x := range s.exact.curve.slopes {
		sum += float64(x * x)
	}
	return max(math.Sqrt(sum/float64(len(s.exact.curve.slopes))), 1e-9)
}

// spreadOut is a period over which the ages lie evenly, with no word on when the loop
// turned.
type spreadOut struct {
	fit    float64
	period float64
	within Interval
}

// part returns frames enough to compare explanations by.
func (s *search) part() []shown { return s.frames[:min(len(s.frames), 800)] }

// noises are the factors by which noises are tried.
var noises = []float64{0.25, 0.35, 0.5, 0.7, 1, 1.4, 2}

// blurred returns how well ages that lie evenly over some period explain the frames, with
// nothing known of the phase.
func (s *search) blurred(c candidate) spreadOut {
	k := newTracker(32, 0, s.exact.curve, s.exact.around)
	k.blurred = true
	out := spreadOut{fit: math.Inf(-1), within: RangeOf()}
	type tried struct{ period, fit float64 }
	var all []tried
	h := c.hypothesis
	h.jitter, h.per = 0.005, 1
	best := h
	base := max(s.noise, 0.3*s.frames[0].half)
	for period := 0.05 * s.frame; period < 6*max(c.period, s.frame, s.spread); period *= 1.25 {
		h.period = period
		h.lag = s.age - period/2
		one := tried{period, math.Inf(-1)}
		for _, f := range noises {
			h.noise = f * base
			if fit := k.likelihood(s.part(), &h); fit > one.fit {
				one.fit = fit
				if fit > out.fit {
					out.fit, out.period, best = fit, period, h
				}
			}
		}
		all = append(all, one)
	}
	for _, one := range all {
		if out.fit-one.fit < dropped {
			out.within.Include(one.period)
		}
	}
	out.fit = k.likelihood(s.frames, &best)
	return out
}

// uneven returns the mean time from frame to frame, half the width of its 99 % interval,
// and whether the frames follow each other more unevenly than a timer would have them.
func (s *search) uneven() (mean, half float64, ok bool) {
	var gaps []float64
	for i := range s.times {
		if i > 0 {
			if gap := s.times[i] - s.times[i-1]; math.Abs(gap-s.frame) < 0.2*s.frame {
				gaps = append(gaps, gap)
			}
		}
	}
	d := Describe(gaps)
	half = 2.576 * d.Deviation / math.Sqrt(float64(len(gaps)))
	return d.Mean, half, d.Deviation > 2e-3*d.Mean
}

// turned returns the best of the explanations by loops that read the input in one of
// several turns alone, or the candidate itself; others are those that explain the frames
// nearly as well. It is for bounds to say that there may be such a loop: what moves beside the
// input tells too little of it by itself.
func (s *search) turned(c candidate) (best candidate, others []candidate) {
	if !s.bounded() || s.holds(c.turn()) {
		return c, nil
	}
	part := s.frames[:min(len(s.frames), 1600)]
	var all []candidate
	for per := 2; per <= mostTurns; per++ {
		t := c
		t.per = per
		if s.holds(t.turn()) {
			all = append(all, s.severally(part, t, c.wander))
		}
	}
	if len(all) == 0 {
		return c, nil
	}
	all = ranked(all)
	for _, t := range all[1:] {
		if t.fit > all[0].fit-turnedOdds {
			others = append(others, t)
		}
	}
	return s.climb(s.frames, all[0], 0.001*c.period/s.frame), others
}

// severally returns a loop that reads the input in one of several turns with the lag and the
// wander that explain the frames best.
func (s *search) severally(frames []shown, c candidate, wander float64) candidate {
	var best candidate
	for _, w := range []float64{1, 2} {
		for _, off := range []float64{-0.3, -0.15, 0, 0.15, 0.3} {
			t := c
			t.wander = w * wander / math.Sqrt(float64(c.per))
			t = s.fitted(frames, s.at(t, c.period, off))
			if best.per == 0 || t.fit > best.fit {
				best = t
			}
		}
	}
	return best
}

// whole says whether the frames come once in a whole number of periods, but for less than a
// turn in all the time.
func (s *search) whole(c candidate) bool {
	turns := s.frame / c.turn()
	whole := math.Round(turns)
	frames := (s.times[len(s.times)-1] - s.times[0]) / s.frame
	return whole > 1 && math.Abs(turns-whole)*frames < 1.2+float64(1e-4*whole*frames)
}

// turnedOdds is by how much, as a logarithm, a number of turns has to explain the frames better
// than another.
const turnedOdds = 25

// markUnresolved marks that no grid is seen. The loop's period is at most about the width of the
// ages; but where loop and frames stand nearly still against each other, as where one clock gives
// both, the ages spread over less than a period, and noise that goes with the input hides a part of
// it. So the bound is not below what the frames prove by bringing new values.
func (s *search) markUnresolved(u *Updates, b spreadOut) {
	u.Unresolved, u.Aliases = true, nil
	u.Within = Interval{shortest, max(1.2*b.period, 1.3*b.within.High, s.renewed())}
	u.Period = u.Within.High
}

// shortest is the period of the fastest loop that a board may have, s.
const shortest = 10e-6

// resolved is by how much, as a logarithm, a loop has to explain the frames better than
// ages of any phase: over some thousand periods that are tried, one comes to 8 of itself.
const resolved = 14

// Ages with more noise than a share noisy of the period may have noise of another shape than
// is supposed: then it takes more, by noisyOdds for each further period.
const (
	noisy     = 0.25
	noisyOdds = 40
)

// resolvedWithin is the same where other evidence leaves few periods to be tried.
const resolvedWithin = 9

// still returns how well frames that stand still against the loop, or nearly, explain
// themselves, so that all ages are about the same.
func (s *search) still(c candidate, b spreadOut) float64 {
	// Round a circle that is longer than the ages spread.
	k := newTracker(96, 0.004, s.exact.curve, s.exact.around)
	k.still = true
	h := c.hypothesis
	h.period, h.wander, h.per = min(max(3*b.within.High, 0.15*s.frame), 4*s.frame), 0, 1
	h.jitter = 0.01 * s.frame / h.period
	h.lag = s.age - h.period/2
	frames := make([]shown, len(s.frames))
	turns := 0.0
	for i, f := range s.frames {
		if i > 0 {
			turns += math.Round((f.at-s.frames[i-1].at)/s.frame) * h.period
		}
		f.turns = turns
		frames[i] = f
	}
	base := max(s.noise, 0.3*s.frames[0].half)
	// What else moves the output slowly looks like ages that wander.
	part := frames[:min(len(frames), 800)]
	best, most := h, math.Inf(-1)
	drift := 0.0
	for _, wander := range []float64{0.002, 0.01, 0.03} {
		k.drift = wander * s.frame / h.period
		for _, h.repeat = range []float64{0.01, 0.2} {
			for _, f := range noises {
				h.noise = f * base
				if fit := k.likelihood(part, &h); fit > most {
					most, best, drift = fit, h, k.drift
				}
			}
		}
	}
	k.drift = drift
	return k.likelihood(frames, &best)
}

// lockedOdds is by how much, as a logarithm, a loop has to explain the readings
// better than one that stands still: so much that no shape of the noise does it.
const lockedOdds = 14

// lockedWithin is the half-width, as a share, of the period of a loop that the
// frames stand still against: they move by less than one period in 100 or more.
const lockedWithin = 0.01

// refine refines a candidate's period on all frames, for its mean over all the
// time that was watched.
func (s *search) refine(c candidate) candidate {
	best := s.fitted(s.all, c)
	for h := 0.0005 * c.period / s.frame; h > 1e-6; h /= 2 {
		for _, period := range []float64{best.period * (1 + h), best.period * (1 - h)} {
			if t := s.fitted(s.all, s.at(best, period, best.off)); t.fit > best.fit {
				best = t
				break
			}
		}
	}
	return best
}

// within returns the interval of the period, with each wander as likely as it makes the frames.
// How far it reaches for a wander is taken from two of them, the best and the largest that is
// likely at all.
func (s *search) within(c candidate) Interval {
	fits := make([]float64, len(wanders))
	largest := c
	for i, w := range wanders {
		t := c
		t.wander = w
		t = s.fitted(s.all, t)
		if fits[i] = t.fit - c.fit; w > largest.wander && fits[i] > -dropped {
			largest = t
		}
	}
	i := Interval{s.end(c, -1), s.end(c, 1)}
	if largest.wander == c.wander {
		return i
	}
	largest = s.refine(largest)
	middle, most := c.turn(), Interval{s.end(largest, -1), s.end(largest, 1)}
	reach := func(best, most float64) float64 {
		most = max(most, best)
		halves := make([]float64, len(wanders))
		for k, w := range wanders {
			share := min(max((w-c.wander)/(largest.wander-c.wander), 0), 1)
			halves[k] = best + float64(share*(most-best))
		}
		return mixedReach(fits, halves)
	}
	return Interval{middle - reach(middle-i.Low, middle-most.Low), middle + reach(i.High-middle, most.High-middle)}
}

// mixedReach returns how far 99 % of a mixture of normal distributions about one middle reach, of
// which each has that half-width for itself and that logarithm of its likelihood at the middle.
func mixedReach(fits, halves []float64) float64 {
	whole, low, high := 0.0, math.Inf(1), 0.0
	for i, half := range halves {
		whole += float64(portable.Exp(fits[i]) * half)
		low, high = min(low, half), max(high, half)
	}
	for range 30 {
		at, out := (low+high)/2, 0.0
		for i, half := range halves {
			out += float64(portable.Exp(fits[i])*half) * 2 * normalTail(ninetyNine*at/half)
		}
		if out > 0.01*whole {
			low = at
		} else {
			high = at
		}
	}
	return high
}

// ninetyNine is how many standard deviations hold 99 % of a normal distribution.
const ninetyNine = 2.5758

// end returns where, going down or up from the best period, the likelihood has
// dropped.
func (s *search) end(c candidate, sign float64) float64 {
	low, high := 0.0, 1e-5
	fits := func(h float64) bool {
		t := s.fitted(s.all, s.at(c, c.period*(1+float64(sign*h)), c.off))
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
	return c.turn() * (1 + float64(sign*high))
}
