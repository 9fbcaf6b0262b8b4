package measure

import (
	"math"
	"slices"

	"hilrig/plant/portable"
)

// Noise is what is known of the errors of a vector of readings: independent normal ones, of
// standard uncertainties whose ratios are known and whose common size is known from a spread with
// so many degrees of freedom, and rectangular ones beside them.
type Noise struct {
	Standard []float64 // standard uncertainty of each entry, >= 0
	Half     []float64 // half width of each entry's rectangular error, >= 0; nil is none
	// DegreesOfFreedom is of the spread that all of Standard were taken from, at least 1. 0 stands for a
	// spread that is known.
	DegreesOfFreedom int
}

// Draws says what a Monte Carlo reckoning draws. The same draws give the same numbers.
type Draws struct {
	Seed uint64
	Name string // of the stream
	N    int    // trials; 0 is 2000
}

// trials is how many vectors are drawn where nothing is said: the 95 % quantile is then
// known to 0.5 % of probability (JCGM 101, 7.2: as many as the digits ask that are given).
const trials = 2000

// Errors draws vectors of errors, one for each trial, by n.
//
// Where the size of the spread is known from few readings, each vector is scaled by
// sqrt(f/chi2) with f degrees of freedom, which makes every entry Student's t (JCGM 101, 6.4.9,
// for a pooled spread).
func (d Draws) Errors(n Noise) [][]float64 {
	count := d.N
	if count <= 0 {
		count = trials
	}
	stream := portable.NewNoise(d.Seed, d.Name)
	out := make([][]float64, count)
	for t := range out {
		scale := 1.0
		if n.DegreesOfFreedom > 0 && n.DegreesOfFreedom <= manyDegrees {
			square := 0.0
			for range n.DegreesOfFreedom {
				z := stream.Norm()
				square += float64(z * z)
			}
			scale = math.Sqrt(float64(n.DegreesOfFreedom) / square)
		}
		e := make([]float64, len(n.Standard))
		for i, s := range n.Standard {
			e[i] = float64(stream.Norm()*s) * scale
			if n.Half != nil && n.Half[i] > 0 {
				e[i] += float64((float64(2*stream.Float64()) - 1) * n.Half[i])
			}
		}
		out[t] = e
	}
	return out
}

// Bound is what a figure of a vector of readings comes to.
type Bound struct {
	Estimate float64 // freed from what noise adds to it on the mean
	Interval         // holds the figure of the true vector with [Confidence] or more
	Noise    float64 // the quantile of what noise alone makes of the figure
}

// Relative is a figure of a vector of readings: its seminorm by its size, as the largest deviation
// from a straight line by the span.
type Relative struct {
	// Seminorm is 0 or more, keeps the triangle inequality, and scales with its vector. It
	// may be 0 for vectors other than 0, as straight ones.
	Seminorm func(y []float64) float64
	// Size is what the seminorm is a share of. nil is 1.
	Size func(y []float64) float64
}

// Of returns the figure of y.
func (r Relative) Of(y []float64) float64 { return r.Seminorm(y) / r.size(y) }

func (r Relative) size(y []float64) float64 {
	if r.Size == nil {
		return 1
	}
	return r.Size(y)
}

// Bound returns the figure of the true vector, of which y was read with such errors.
//
// # Interval
//
// A seminorm L of readings y of a true vector m, with errors e, differs from that of m by
// L(e) at most. So does their ratio to a size S by (L(e) + f |S(y+e) - S(y)|)/S(y), f being
// L(y)/S(y), to first order. The quantile of that over the errors that were drawn is taken off
// and put on: the interval holds the figure of m in at least as many of a hundred cases,
// wherever the largest deviation stands, without a linear model of a maximum. It is cut at 0.
//
// # Estimate
//
// Noise makes a maximum greater on the mean. The estimate is L(λy)/S(y), with λ in 0..1 such that
// the mean of L(λy + e) over the errors is what was read, L(y): the figure of a
// vector of the same shape which, with noise, gives on the mean what was read. It is 0 where noise alone
// gives more.
func (r Relative) Bound(y []float64, errors [][]float64) Bound {
	seminorm, size := r.Seminorm(y), r.size(y)
	figure := seminorm / size
	sum := make([]float64, len(y))
	shifts := make([]float64, len(errors))
	for t, e := range errors {
		for i := range y {
			sum[i] = y[i] + e[i]
		}
		shifts[t] = (r.Seminorm(e) + float64(figure*math.Abs(r.size(sum)-size))) / size
	}
	slices.Sort(shifts)
	b := Bound{Noise: Quantile(shifts, Confidence)}
	b.Interval = Interval{max(figure-b.Noise, 0), figure + b.Noise}
	b.Estimate = min(max(float64(r.shrink(y, seminorm, errors)*figure), b.Low), b.High)
	return b
}

// shrunk is how many of the errors serve, each with both signs, to find what noise adds on the
// mean: that is known far better than outer quantiles.
const shrunk = 150

// shrink returns λ.
func (r Relative) shrink(y []float64, seminorm float64, errors [][]float64) float64 {
	errors = errors[:min(len(errors), shrunk)]
	sum := make([]float64, len(y))
	with := func(share float64) float64 {
		total := 0.0
		for _, e := range errors {
			for i := range y {
				sum[i] = float64(share*y[i]) + e[i]
			}
			total += r.Seminorm(sum)
			for i := range y {
				sum[i] = float64(share*y[i]) - e[i]
			}
			total += r.Seminorm(sum)
		}
		return total / float64(2*len(errors))
	}
	if !(with(0) < seminorm) {
		return 0
	}
	low, high := 0.0, 1.0 // the mean grows with the share: it is convex and even
	for range 12 {
		middle := (low + high) / 2
		if with(middle) < seminorm {
			low = middle
		} else {
			high = middle
		}
	}
	return (low + high) / 2
}

// Quantiles returns the interval of a figure over the errors that were drawn, with
// [Confidence], half of the remaining chance on each side: of a figure that is all but linear within
// the noise, as a ratio of slopes. It is not a number where the figure of a drawn vector is not.
func Quantiles(figure func(y []float64) float64, y []float64, errors [][]float64) Interval {
	values := make([]float64, len(errors))
	sum := make([]float64, len(y))
	for t, e := range errors {
		for i := range y {
			sum[i] = y[i] + e[i]
		}
		if values[t] = figure(sum); math.IsNaN(values[t]) {
			return Interval{math.NaN(), math.NaN()}
		}
	}
	slices.Sort(values)
	return Interval{Quantile(values, (1-Confidence)/2), Quantile(values, (1+Confidence)/2)}
}
