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
	Noise    float64 // by how much the interval reaches to both sides of what was read
}

// Relative is a figure of a vector of readings: its seminorm by its size, as the largest deviation
// from a straight line by the span.
type Relative struct {
	// Seminorm is 0 or more, keeps the triangle inequality, and scales with its vector. It
	// may be 0 for vectors other than 0, as straight ones, and differ from that of the vector
	// with the opposite sign, as a largest fall.
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

// By how many times the errors that were drawn a vector is moved to see how its figure answers: far for
// intervals, nearer for what noise adds on the mean.
const (
	far    = 16
	nearer = 4
)

// Bound returns the figure of the true vector, of which y was read with such errors.
//
// # Interval
//
// Let y = m + e. A seminorm L is convex, so that L(m) >= L(y) - D(e) for every s > 0, and
// L(m) <= L(y) + D(-e) for s >= 1, with
//
//	D(e) = (L(y + s e) - L(y))/s
//
// D grows with s to L(e), which is what noise makes of a figure that is 0, and falls with s to what
// noise makes of it at the one place where its maximum stands, where that stands out. With s = 16, places
// count whose values come within some 16 uncertainties of the maximum. The size S by
// which the seminorm is divided is taken into D to first order: as -f (S(y + s e) - S(y))/s about its mean,
// f being the figure. The quantile of D at half of what [Confidence] leaves, of
// the farther side, is taken off and put on; the interval is cut at 0.
// (Z. Fang, A. Santos, Inference on directionally differentiable functions, Rev. Econ. Stud. 86 (2019), and
// H. Hong, J. Li, The numerical delta method, J. Econometrics 206 (2018), from memory.)
//
// # Estimate
//
// Noise makes a maximum greater on the mean. The mean of D, with s = 4, is taken off: all of what
// noise makes of a figure that is 0 but a little, and next to nothing where the maximum stands out. The
// estimate is cut at 0. What noise adds to the size on the mean is taken off likewise, with the
// greater s; where that leaves no size, nothing is a number.
func (r Relative) Bound(y []float64, errors [][]float64) Bound {
	seminorm, size := r.Seminorm(y), r.size(y)
	sum := make([]float64, len(y))
	moved := func(e []float64, by float64) []float64 {
		for i := range y {
			sum[i] = y[i] + float64(by*e[i])
		}
		return sum
	}
	shifts, sizes, biases := make([]float64, len(errors)), make([]float64, len(errors)), make([]float64, len(errors))
	for t, e := range errors {
		there := moved(e, far)
		shifts[t] = (r.Seminorm(there) - seminorm) / far
		sizes[t] = (r.size(there) - size) / far
		biases[t] = (r.Seminorm(moved(e, nearer)) - seminorm) / nearer
	}
	more := Describe(sizes).Mean
	size -= more
	if !(size > 0) { // noise could make all of it
		nan := math.NaN()
		return Bound{nan, Interval{nan, nan}, nan}
	}
	figure := seminorm / size
	for t := range shifts {
		shifts[t] = (shifts[t] - float64(figure*(sizes[t]-more))) / size
	}
	slices.Sort(shifts)
	b := Bound{Noise: max(Quantile(shifts, (1+Confidence)/2), -Quantile(shifts, (1-Confidence)/2), 0)}
	b.Interval = Interval{max(figure-b.Noise, 0), figure + b.Noise}
	b.Estimate = min(max(figure-Describe(biases).Mean/size, b.Low), b.High)
	return b
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
