package measure

import (
	"math"
	"sort"
)

// Straight is a straight line y = Intercept + Slope x beside points, with how far the points
// lie from it.
type Straight struct {
	Intercept, Slope float64
	Largest          float64 // largest deviation of a point from the line in y, either way, >= 0
	At               int     // index of the first point with that deviation
}

// Y returns the line's y at x.
func (s Straight) Y(x float64) float64 { return s.Intercept + float64(s.Slope*x) }

// beside completes s with its largest deviation from the points.
func (s Straight) beside(x, y []float64) Straight {
	s.Largest, s.At = -1, 0
	for i := range x {
		if d := math.Abs(y[i] - s.Y(x[i])); d > s.Largest {
			s.Largest, s.At = d, i
		}
	}
	return s
}

// ascend reports whether x and y are at least n points, all finite, with x ascending.
func ascend(x, y []float64, n int) bool {
	if len(x) < n || len(x) != len(y) {
		return false
	}
	for i := range x {
		if math.IsNaN(x[i]-x[i]) || math.IsNaN(y[i]-y[i]) || i > 0 && !(x[i] > x[i-1]) {
			return false
		}
	}
	return true
}

// IndependentLine returns the straight line that is placed so that the largest deviation is
// least: the minimax line. x ascends, and y has its length; ok is false where they do not,
// with fewer than two points and where a number is not finite.
//
// The largest deviation is exact: half the greatest height of the points' convex hull. No strip of
// less height holds both ends of that height, and the strip between the hull's sides there,
// whose slope both have in common, holds all points.
func IndependentLine(x, y []float64) (s Straight, ok bool) {
	if !ascend(x, y, 2) {
		return Straight{}, false
	}
	low, high := hull(x, y, 1), hull(x, y, -1)
	best := -1.0
	for _, i := range low {
		if h := along(x, y, high, x[i]) - y[i]; h > best {
			best, s.Slope = h, common(x, y, low, high, x[i])
		}
	}
	for _, i := range high {
		if h := y[i] - along(x, y, low, x[i]); h > best {
			best, s.Slope = h, common(x, y, low, high, x[i])
		}
	}
	over := RangeOf()
	for i := range x {
		over.Include(y[i] - float64(s.Slope*x[i]))
	}
	s.Intercept = over.Low + over.Width()/2
	return s.beside(x, y), true
}

// hull returns the indices of the corners of the lower side of the convex hull from left to
// right for sign 1, of the upper side for -1 (A. M. Andrew, Inf. Process. Lett. 9 (1979)).
func hull(x, y []float64, sign float64) []int {
	side := make([]int, 0, len(x))
	for i := range x {
		for n := len(side); n >= 2; n = len(side) {
			a, b := side[n-2], side[n-1]
			turn := float64((x[b]-x[a])*(y[i]-y[a])) - float64((y[b]-y[a])*(x[i]-x[a]))
			if sign*turn > 0 {
				break
			}
			side = side[:n-1]
		}
		side = append(side, i)
	}
	return side
}

// along returns the height of a side of the hull at x, within its ends.
func along(x, y []float64, side []int, at float64) float64 {
	k := sort.Search(len(side), func(k int) bool { return x[side[k]] >= at })
	b := side[k]
	if x[b] == at {
		return y[b]
	}
	a := side[k-1]
	return y[a] + float64((y[b]-y[a])*((at-x[a])/(x[b]-x[a])))
}

// common returns a slope that both sides of the hull have at the x of its greatest height: the
// lower side's slopes rise from left to right, the upper side's fall.
func common(x, y []float64, low, high []int, at float64) float64 {
	lowBefore, lowAfter := slopes(x, y, low, at, math.Inf(1))
	highBefore, highAfter := slopes(x, y, high, at, math.Inf(-1))
	from, to := max(lowBefore, highAfter), min(lowAfter, highBefore)
	return from + (to-from)/2
}

// slopes returns the slopes of a side of the hull just before and just after x: beyond after its
// right end, the opposite before its left end.
func slopes(x, y []float64, side []int, at, beyond float64) (before, after float64) {
	edge := func(k int) float64 { return (y[side[k]] - y[side[k-1]]) / (x[side[k]] - x[side[k-1]]) }
	k := sort.Search(len(side), func(k int) bool { return x[side[k]] >= at })
	before, after = -beyond, beyond
	if k > 0 {
		before = edge(k)
	}
	if x[side[k]] != at {
		after = before
	} else if k+1 < len(side) {
		after = edge(k + 1)
	}
	return before, after
}

// LeastSquaresLine returns the straight line of least squares beside the points: that of
// [LineOf]. x may come in any order; ok is false with fewer than three points, where x does not
// spread and where a number is not finite.
func LeastSquaresLine(x, y []float64) (s Straight, ok bool) {
	l, ok := LineOf(x, y)
	if !ok || math.IsNaN(l.Slope-l.Slope) || math.IsNaN(l.Intercept-l.Intercept) {
		return Straight{}, false
	}
	return Straight{Intercept: l.Intercept, Slope: l.Slope}.beside(x, y), true
}

// TerminalLine returns the straight line through the first and the last point. x and y are as
// for [IndependentLine].
func TerminalLine(x, y []float64) (s Straight, ok bool) {
	if !ascend(x, y, 2) {
		return Straight{}, false
	}
	n := len(x) - 1
	s.Slope = (y[n] - y[0]) / (x[n] - x[0])
	s.Intercept = y[0] - float64(s.Slope*x[0])
	return s.beside(x, y), true
}

// ZeroBasedLine returns the straight line through the first point whose slope makes the largest
// deviation least. x and y are as for [IndependentLine].
//
// A deviation d - b h, h being the distance from the first point, bounds the largest one from
// below for every slope b, and two points of which one lies above and one below bound it by what it is
// where both are equal: (d_i h_j - d_j h_i)/(h_i + h_j). By Helly's theorem the greatest of these
// bounds is reached, and it is reached by corners of the convex hull.
func ZeroBasedLine(x, y []float64) (s Straight, ok bool) {
	if !ascend(x, y, 2) {
		return Straight{}, false
	}
	h, d := make([]float64, len(x)-1), make([]float64, len(x)-1)
	for i := range h {
		h[i], d[i] = x[i+1]-x[0], y[i+1]-y[0]
	}
	low, high := hull(h, d, 1), hull(h, d, -1)
	best := math.Inf(-1)
	for _, i := range high {
		for _, j := range low {
			bound := (float64(d[i]*h[j]) - float64(d[j]*h[i])) / (h[i] + h[j])
			if bound > best {
				best, s.Slope = bound, (d[i]+d[j])/(h[i]+h[j])
			}
		}
	}
	s.Intercept = y[0] - float64(s.Slope*x[0])
	return s.beside(x, y), true
}

// Isotonic returns the values that rise or stay, and are closest to y by least squares with
// the weights, each above 0: the isotonic regression, by pooling adjacent violators. weights nil
// is all alike; else it has the length of y.
//
// R. E. Barlow, D. J. Bartholomew, J. M. Bremner, H. D. Brunk, Statistical Inference under Order
// Restrictions (1972), from memory.
func Isotonic(y, weights []float64) []float64 {
	type block struct {
		mean, weight float64
		n            int
	}
	var blocks []block
	for i, v := range y {
		b := block{v, 1, 1}
		if weights != nil {
			b.weight = weights[i]
		}
		for n := len(blocks); n > 0 && blocks[n-1].mean > b.mean; n = len(blocks) {
			last := blocks[n-1]
			whole := last.weight + b.weight
			b = block{last.mean + float64((b.mean-last.mean)*(b.weight/whole)), whole, last.n + b.n}
			blocks = blocks[:n-1]
		}
		blocks = append(blocks, b)
	}
	level := make([]float64, 0, len(y))
	for _, b := range blocks {
		for range b.n {
			level = append(level, b.mean)
		}
	}
	return level
}
