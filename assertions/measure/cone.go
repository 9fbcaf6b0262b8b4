package measure

import "math"

// NearestInCone returns what is left of a point, less the nearest sum of some vectors of the same length, each as often as one likes, but none
// less often than never: all zeroes where the point is such a sum. What is left stands at a right angle to that sum, and turned
// away from all of the vectors.
//
// It is the method of active sets of Lawson and Hanson, "Solving Least Squares Problems" (1974), chapter 23, from memory; a test holds
// what is left against the conditions by which the nearest sum is known.
func NearestInCone(vectors [][]float64, point []float64) (left []float64) {
	const rounds, little = 400, 1e-9
	x := make([]float64, len(vectors))
	var active []int
	left = append(left, point...)
	for range rounds {
		best, most := -1, little*norm(point)
		for j, v := range vectors {
			if x[j] > 0 {
				continue
			}
			if along := dot(v, left) / norm(v); along > most {
				best, most = j, along
			}
		}
		if best < 0 {
			break
		}
		active = bounded(vectors, point, x, append(active, best))
		copy(left, point)
		for _, j := range active {
			for i := range left {
				left[i] -= float64(x[j] * vectors[j][i])
			}
		}
	}
	return left
}

// bounded goes from how often the active vectors count to how often they would in the nearest sum of them alone, as far as none becomes
// less than never, leaves those out that come to that, and goes on with the others. It returns those that are left.
func bounded(vectors [][]float64, point, x []float64, active []int) []int {
	const none = 1e-12
	for len(active) > 0 {
		free, part := leastSquares(vectors, point, active), 1.0
		for k, j := range active {
			if free[k] <= 0 {
				part = min(part, x[j]/(x[j]-free[k]))
			}
		}
		kept := active[:0]
		for k, j := range active {
			if x[j] += float64(part * (free[k] - x[j])); x[j] > none {
				kept = append(kept, j)
			} else {
				x[j] = 0
			}
		}
		if active = kept; part == 1 {
			return active
		}
	}
	return active
}

// leastSquares returns how often each of the active vectors counts in the sum that is nearest to a point.
func leastSquares(vectors [][]float64, point []float64, active []int) []float64 {
	n := len(active)
	a := make([][]float64, n)
	for i, k := range active {
		a[i] = make([]float64, n+1)
		for j, l := range active {
			a[i][j] = dot(vectors[k], vectors[l])
		}
		a[i][i] *= 1 + 1e-12 // vectors that are nearly the same
		a[i][n] = dot(vectors[k], point)
	}
	for i := range n { // the matrix is positive definite, and needs no pivots
		for k := i + 1; k < n; k++ {
			by := a[k][i] / a[i][i]
			for j := i; j <= n; j++ {
				a[k][j] -= float64(by * a[i][j])
			}
		}
	}
	x := make([]float64, n)
	for i := n - 1; i >= 0; i-- {
		x[i] = a[i][n]
		for j := i + 1; j < n; j++ {
			x[i] -= float64(a[i][j] * x[j])
		}
		x[i] /= a[i][i]
	}
	return x
}

func dot(a, b []float64) (sum float64) {
	for i := range a {
		sum += float64(a[i] * b[i])
	}
	return sum
}

func norm(a []float64) float64 { return math.Sqrt(dot(a, a)) }
