package measure

import (
	"cmp"
	"math"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"
)

// Ranks is what the ranks of two samples among each other say of them, the test of Mann and Whitney:
// that of Wilcoxon for two samples. It rests on no distribution.
type Ranks struct {
	U        float64 // pairs in which the second sample's value is the larger one, ties counting half
	Expected float64 // of U, were both drawn from one distribution
	Variance float64 // of U then, with what ties take away; 0 where all values are the same
}

// RanksOf ranks two samples. The values are finite.
//
// H. B. Mann, D. R. Whitney, On a test of whether one of two random variables is stochastically
// larger than the other, Ann. Math. Statist. 18 (1947); the variance with ties as in E. L. Lehmann,
// Nonparametrics (1975), 1.4; both from memory.
func RanksOf(a, b []float64) Ranks {
	type ranked struct {
		value  float64
		second bool
	}
	all := make([]ranked, 0, len(a)+len(b))
	for _, x := range a {
		all = append(all, ranked{x, false})
	}
	for _, x := range b {
		all = append(all, ranked{x, true})
	}
	slices.SortFunc(all, func(x, y ranked) int { return cmp.Compare(x.value, y.value) })
	sum, ties := 0.0, 0.0
	for from := 0; from < len(all); {
		to := from
		seconds := 0.0
		for ; to < len(all) && all[to].value == all[from].value; to++ {
			if all[to].second {
				seconds++
			}
		}
		sum += seconds * float64(from+1+to) / 2 // ranks count from 1; those that tie share their mean
		t := float64(to - from)
		ties += float64(t*t*t) - t
		from = to
	}
	m, n := float64(len(a)), float64(len(b))
	r := Ranks{U: sum - float64(n*(n+1))/2, Expected: m * n / 2}
	if total := m + n; m > 0 && n > 0 && total > 1 {
		r.Variance = m * n / 12 * (total + 1 - ties/float64(total*(total-1)))
	}
	return r
}

// Together returns the ranks of several pairs of samples, each ranked by itself: what differs
// from pair to pair then counts for nothing, and what all share adds up (P. van Elteren, On the
// combination of independent two sample tests of Wilcoxon, Bull. Int. Stat. Inst. 37 (1960), with
// equal weights; from memory).
func Together(all ...Ranks) (sum Ranks) {
	for _, r := range all {
		sum.U += r.U
		sum.Expected += r.Expected
		sum.Variance += r.Variance
	}
	return sum
}

// Deviations returns by how many standard deviations the second sample lies above the first, by the
// normal approximation with a correction for continuity: good from about ten values each on. It is
// 0 where nothing can be told.
func (r Ranks) Deviations() float64 {
	d := r.U - r.Expected
	if !(r.Variance > 0) || math.Abs(d) <= 0.5 {
		return 0
	}
	return (d - math.Copysign(0.5, d)) / math.Sqrt(r.Variance)
}

// Larger returns how likely the second sample lies so far above the first, or farther, by chance
// alone: one side, 0..1.
func (r Ranks) Larger() float64 { return distuv.UnitNormal.Survival(r.Deviations()) }

// ShiftBetween returns by how much b lies above a: the median of all differences between a value
// of b and one of a, after Hodges and Lehmann. It is not a number where one is empty.
func ShiftBetween(a, b []float64) float64 {
	differences := make([]float64, 0, len(a)*len(b))
	for _, y := range b {
		for _, x := range a {
			differences = append(differences, y-x)
		}
	}
	slices.Sort(differences)
	return Quantile(differences, 0.5)
}

// Deviate returns how many standard deviations a quantity with a normal distribution is off to either
// side by chance with probability p at most, 0 < p <= 1.
func Deviate(p float64) float64 { return distuv.UnitNormal.Quantile(1 - p/2) }

// DeviateOf is Deviate for a standard deviation that is itself known with so many degrees of
// freedom: Student's t. 0 stands for one that is known.
func DeviateOf(p, degrees float64) float64 {
	if degrees == 0 || degrees > manyDegrees {
		return Deviate(p)
	}
	return distuv.StudentsT{Mu: 0, Sigma: 1, Nu: max(degrees, 1)}.Quantile(1 - p/2)
}

// DegreesBy returns the degrees of freedom of which an interval's coverage factor at 95.45 % is k;
// 0 where it is that of a standard deviation that is known, or less.
func DegreesBy(k float64) float64 {
	if !(k > CoverageFactor(manyDegrees)+1e-4) {
		return 0
	}
	low, high := 1.0, float64(manyDegrees)
	for range 60 {
		if middle := math.Sqrt(low * high); CoverageFactor(middle) > k {
			low = middle
		} else {
			high = middle
		}
	}
	return low
}
