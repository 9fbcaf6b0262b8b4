package measure

import "math"

// ShareOf returns how large a share of a series of yes and no is yes, with the
// interval of E. B. Wilson, Probable inference, J. Am. Stat. Assoc. 22 (1927),
// at the package's [Confidence]; NIST/SEMATECH e-Handbook 7.2.4.1. Neighbours
// in the series are not independent: it counts as many trials as a series with
// its lag-1 autocorrelation is worth. Of an empty series the share is not a
// number and the interval 0..1.
func ShareOf(yes []bool) (share float64, i Interval) {
	if len(yes) == 0 {
		return math.NaN(), Interval{0, 1}
	}
	values := make([]float64, len(yes))
	for k, y := range yes {
		if y {
			values[k] = 1
		}
	}
	s := Describe(values)
	return s.Mean, Wilson(s.Mean, Effective(s.N, s.Lag1))
}

// Wilson returns Wilson's interval for a share, 0..1, seen in n independent
// trials, n above 0 and not necessarily whole.
func Wilson(share, n float64) Interval {
	const z = 2 // of Confidence
	const z2 = z * z
	whole := 1 + z2/n
	middle := (share + z2/(2*n)) / whole
	half := z / whole * math.Sqrt(float64(share*(1-share))/n+z2/(4*float64(n*n)))
	return Interval{max(middle-half, 0), min(middle+half, 1)}
}
