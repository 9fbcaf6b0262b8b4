package measure

import "math"

// mostTerms is how many parameters a fit by normal equations has at most.
const mostTerms = 10

// normal holds the normal equations A c = b of a weighted least squares fit, A symmetric.
type normal struct {
	n int
	a [mostTerms][mostTerms]float64
	b [mostTerms]float64
	l [mostTerms][mostTerms]float64 // the Cholesky factor of A
}

// reset empties the equations for n parameters.
func (q *normal) reset(n int) { *q = normal{n: n} }

// add adds one reading y with the row of its regressors and its weight.
func (q *normal) add(row *[mostTerms]float64, y, weight float64) {
	for i := range q.n {
		w := weight * row[i]
		for j := range i + 1 {
			q.a[i][j] += float64(w * row[j])
		}
		q.b[i] += float64(w * y)
	}
}

// factor factors A; ok is false where the regressors do not tell the parameters apart.
func (q *normal) factor() (ok bool) {
	for i := range q.n {
		for j := range i + 1 {
			sum := q.a[i][j]
			for k := range j {
				sum -= float64(q.l[i][k] * q.l[j][k])
			}
			switch {
			case i != j:
				q.l[i][j] = sum / q.l[j][j]
			case !(sum > 1e-14*q.a[i][i]):
				return false
			default:
				q.l[i][i] = math.Sqrt(sum)
			}
		}
	}
	return true
}

// solve returns c of A c = b, A being factored.
func (q *normal) solve(b [mostTerms]float64) [mostTerms]float64 {
	for i := range q.n {
		for k := range i {
			b[i] -= float64(q.l[i][k] * b[k])
		}
		b[i] /= q.l[i][i]
	}
	for i := q.n - 1; i >= 0; i-- {
		for k := i + 1; k < q.n; k++ {
			b[i] -= float64(q.l[k][i] * b[k])
		}
		b[i] /= q.l[i][i]
	}
	return b
}

// variance returns v' A^-1 v, the variance of the parameters' sum v at weights of one over
// the variance.
func (q *normal) variance(v [mostTerms]float64) float64 {
	c := q.solve(v)
	sum := 0.0
	for i := range q.n {
		sum += float64(v[i] * c[i])
	}
	return sum
}
