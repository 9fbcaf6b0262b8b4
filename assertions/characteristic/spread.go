package characteristic

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"

	"hilrig/assertions/measure"
)

// spread is how far readings of one level from one direction lie apart.
type spread struct {
	pooled  float64 // variance of one reading, over all levels that are alike
	degrees int     // its degrees of freedom; 0: from the readings' own uncertainties
	erratic []*cell // levels whose readings lie apart farther than the others', significantly
}

// beyondPooled is how unlikely a spread has to be, as the largest of all, to be set apart.
const beyondPooled = 1e-3

// fewestDegrees is of the other levels, for a spread to be set apart from them.
const fewestDegrees = 5

// of finds the variance of a reading of each cell, and says why it is not known.
//
// Repeats of the same level and direction say how large noise is; all levels together say
// it with many degrees of freedom. What a reading knows of its own uncertainty says how levels
// differ: the variance of a reading is its own, and beside it what repeats show beyond the mean of
// those, or, where repeats show less, its own in the proportion of both. Without any repeats,
// readings' own uncertainties are all there is.
//
// A level whose variance is the largest and significantly larger than that of the others, by an F
// test for the largest of so many, is set apart with its own, unless its readings' own uncertainties tell why.
func (s *spread) of(cells []*cell) (why string) {
	if len(cells) == 0 {
		return "nothing was read"
	}
	alike := s.setApart(cells)
	var square, own float64
	known := true
	readings := 0
	for _, c := range alike {
		square += squares(c)
		s.degrees += len(c.outputs) - 1
		own += c.own * float64(len(c.outputs))
		readings += len(c.outputs)
		known = known && c.known
	}
	own /= float64(readings)
	if s.degrees == 0 {
		if !known {
			return "each level was read once, and the uncertainty of a reading is not known: three cycles or more say it"
		}
		s.pooled = own
		for _, c := range cells {
			c.variance = c.own
		}
		return ""
	}
	s.pooled = square / float64(s.degrees)
	for _, c := range cells {
		switch {
		case !known:
			c.variance = s.pooled
		case own <= s.pooled:
			c.variance = s.pooled - own + c.own
		default:
			c.variance = c.own * (s.pooled / own)
		}
	}
	for _, c := range s.erratic {
		// Widened, for it is known from few readings and is drawn as if from the many.
		k := measure.CoverageFactor(float64(len(c.outputs)-1)) / measure.CoverageFactor(float64(s.degrees))
		c.variance = variance(c) * float64(k*k)
	}
	return ""
}

// squares returns the sum of squares of a cell's readings about their mean.
func squares(c *cell) (sum float64) {
	mean := c.mean()
	for _, y := range c.outputs {
		sum += float64((y - mean) * (y - mean))
	}
	return sum
}

func variance(c *cell) float64 { return squares(c) / float64(len(c.outputs)-1) }

// setApart returns the cells without those that are erratic: neither what the others show nor what its
// readings know of their own uncertainty makes such a spread likely.
func (s *spread) setApart(cells []*cell) []*cell {
	alike := slices.Clone(cells)
	known := !slices.ContainsFunc(cells, func(c *cell) bool { return !c.known })
	for {
		worst, chance := -1, beyondPooled
		for i, p := range chances(alike, func(*cell) float64 { return 1 }) {
			if p < chance {
				worst, chance = i, p
			}
		}
		if worst >= 0 && known && !(chances(alike, func(c *cell) float64 { return c.own })[worst] < beyondPooled) {
			return alike
		}
		if worst < 0 {
			return alike
		}
		s.erratic = append(s.erratic, alike[worst])
		alike = slices.Delete(alike, worst, worst+1)
	}
}

// chances returns for each cell how likely it is, at most, that the spread of any of them, as a share of
// its size, lies so far above that of the others: by an F test with Bonferroni's bound on the largest of so many.
func chances(cells []*cell, size func(c *cell) float64) []float64 {
	square, degrees := 0.0, 0
	for _, c := range cells {
		square += squares(c) / size(c)
		degrees += len(c.outputs) - 1
	}
	p := make([]float64, len(cells))
	for i, c := range cells {
		p[i] = 1
		own, one := len(c.outputs)-1, squares(c)/size(c)
		if rest := square - one; own > 0 && degrees-own >= fewestDegrees && rest > 0 {
			f := distuv.F{D1: float64(own), D2: float64(degrees - own)}
			p[i] = float64(len(cells)) * (1 - f.CDF(one/float64(own)/(rest/float64(degrees-own))))
		}
	}
	return p
}

// chiSquareWithin returns the factors by which a standard deviation with so many degrees of
// freedom is divided for the ends of its interval (NIST/SEMATECH e-Handbook, 7.2.3.1).
func chiSquareWithin(degrees int, confidence float64) (low, high float64) {
	chi := distuv.ChiSquared{K: float64(degrees)}
	root := func(p float64) float64 { return math.Sqrt(chi.Quantile(p) / float64(degrees)) }
	return root((1 + confidence) / 2), root((1 - confidence) / 2)
}
