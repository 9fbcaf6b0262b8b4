package measure

import "math"

// What no loop of one period does is a pattern of ages that repeats with some frames and that the period does not
// explain, as where windows, loop and frames of one clock go through each other.
const (
	mostPattern    = 48   // frames, after which a pattern is looked for to repeat
	patternShare   = 0.25 // of a turn, rms, by which its ages go apart at least
	patternCertain = 6    // times what chance makes of them
)

// patterned says whether ages have a pattern that the candidate does not explain.
func (s *search) patterned(c candidate) bool {
	ages, ok := s.exact.ages(s.all, &c.hypothesis)
	if !ok {
		return false
	}
	for n := 2; n <= mostPattern; n++ {
		if s.apartByPlace(ages, n) > patternShare*c.turn() {
			return true
		}
	}
	return false
}

// apartByPlace returns how far ages go apart, s rms, between the places of frames among n that repeat, beyond the
// ages that are predicted and what their uncertainty makes of it. A place or two where the loop turns just as the frame
// begins, and either age is right, count for little.
func (s *search) apartByPlace(ages []float64, n int) float64 {
	var sums, weights [mostPattern]float64
	square, count := 0.0, 0.0
	curve := s.exact.curve
	for i := range s.all {
		f := &s.all[i]
		if math.IsNaN(ages[i]) {
			continue
		}
		// A value that is older than predicted is off by so much of the curve's slope.
		off, slope := f.value-curve.at(f.at-ages[i]), -curve.slope(f.at-ages[i])
		place := int(math.Round((f.at-s.all[0].at)/s.frame)) % n
		sums[place] += float64(off * slope)
		weights[place] += float64(slope * slope)
		square, count = square+float64(off*off), count+1
	}
	sum, total, whole := 0.0, 0.0, 0.0
	for place := range n {
		sum, whole = sum+sums[place], whole+weights[place]
	}
	if !(whole > 0) {
		return 0
	}
	mean := sum / whole
	for place := range n {
		if w := weights[place]; w > 0 {
			off := sums[place]/w - mean
			total += float64(w / whole * float64(off*off))
		}
	}
	byChance := float64(n) * square / count / whole
	return math.Sqrt(max(total-float64(patternCertain*byChance), 0))
}
