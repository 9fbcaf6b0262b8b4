package measure

import "math"

// Line is the straight line y = Intercept + Slope x of least squares through
// points whose x is exact.
type Line struct {
	Intercept, Slope float64
	Residual         float64 // standard deviation of y about the line, divisor N - 2
	N                int
	meanX, meanY     float64
	spread           float64 // sum of squares of x about its mean
	lag1             float64 // autocorrelation of the residuals in the order of the points
}

// LineOf fits a line to points; x and y have the same length. ok is false with
// fewer than three points or where x does not spread.
func LineOf(x, y []float64) (l Line, ok bool) {
	if len(x) < 3 || len(x) != len(y) {
		return Line{}, false
	}
	l.N = len(x)
	l.meanX, l.meanY = Describe(x).Mean, Describe(y).Mean
	product := 0.0
	for i := range x {
		dx := x[i] - l.meanX
		l.spread += float64(dx * dx)
		product += float64(dx * (y[i] - l.meanY))
	}
	if !(l.spread > 0) {
		return Line{}, false
	}
	l.Slope = product / l.spread
	l.Intercept = l.meanY - float64(l.Slope*l.meanX)
	residuals := make([]float64, len(x))
	square := 0.0
	for i := range x {
		residuals[i] = y[i] - l.meanY - float64(l.Slope*(x[i]-l.meanX))
		square += float64(residuals[i] * residuals[i])
	}
	l.Residual = math.Sqrt(square / float64(l.N-2))
	l.lag1 = Describe(residuals).Lag1
	return l, true
}

// At returns the line's y at x.
func (l *Line) At(x float64) float64 { return l.meanY + float64(l.Slope*(x-l.meanX)) }

// Middle returns the estimate of y at the mean of the points' x: of what a
// series that drifts comes to on the whole, its drift adds no uncertainty. systematic is
// the standard uncertainty that all points share.
func (l *Line) Middle(systematic float64) Estimate {
	n := Effective(l.N, l.lag1)
	return Estimate{Value: l.meanY, Statistical: l.Residual / math.Sqrt(n), Systematic: systematic, DegreesOfFreedom: max(n-2, 1)}
}

// Zero returns the estimate of the x at which the line passes through 0, by
// first-order propagation of the uncertainties of mean and slope, with as many points
// as the residuals' autocorrelation leaves independent. systematic is the standard
// uncertainty of y that all points share. It is not a number where the line is
// level.
func (l *Line) Zero(systematic float64) Estimate {
	x := l.meanX - l.meanY/l.Slope
	n := Effective(l.N, l.lag1)
	far := x - l.meanX
	of := float64(l.Residual * l.Residual)
	of *= 1/n + float64(far*far)/l.spread*(float64(l.N)/n)
	return Estimate{
		Value:            x,
		Statistical:      math.Sqrt(of) / math.Abs(l.Slope),
		Systematic:       systematic / math.Abs(l.Slope),
		DegreesOfFreedom: max(n-2, 1),
	}
}
