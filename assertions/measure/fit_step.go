package measure

import (
	"errors"
	"fmt"
	"math"
)

// Lag is how an acceleration answers a step: nothing for a dead time, then a lag of the first order.
type Lag struct {
	Delay Estimate // s from the step until the acceleration begins to change
	Rise  Estimate // s from 10 % to 90 % of the change: ln 9 times the time constant
	Step  float64  // rad/s2 by which the acceleration changes in the end
	N     int      // entries that the fit is over
}

// ln9 is the 10 % to 90 % time of a lag of the first order over its time constant.
const ln9 = 2.1972245773362196

const (
	stepTerms  = 8 // angle, speed, acceleration, its slope and curvature before; steps of the latter three
	delays     = 24
	lags       = 12
	leastAfter = 8   // entries after the step
	gridded    = 160 // entries that the grid looks at, about
)

// stepFit is one fit of a step.
type stepFit struct {
	t      *Turning
	step   float64 // s, when the command changed
	scale  float64 // s
	weight []float64
	every  int // only each so many of the entries count
	q      normal
}

// StepAt fits to the turning, which holds from well before to well after the time step, in s, how the
// acceleration answers a change of command then: before it the acceleration goes along a parabola,
// after a dead time it nears another with a lag of the first order. longest is the longest dead time and
// time constant that are looked for, in s. The error says why there is no answer.
//
// Dead time and time constant are searched for on a grid and then by Gauss and Newton, the eight other
// parameters being linear. Their uncertainties are those of the linearised fit and its residuals, of
// which as many count as their autocorrelation leaves independent.
func (f *Fitter) StepAt(step, longest float64, t *Turning) (Lag, error) {
	n := len(t.Time)
	if n < 2*leastEntries || t.Time[0] >= step || t.Time[n-leastAfter] <= step {
		return Lag{}, fmt.Errorf("%d edges around the step are too few to tell its answer", n)
	}
	speed := math.Abs(t.Angle[n-1]-t.Angle[0]) / (t.Time[n-1] - t.Time[0])
	f.weigh(speed, t)
	s := stepFit{t: t, step: step, scale: max(t.Time[n-1]-step, step-t.Time[0]), weight: f.weight, every: max(1, n/gridded)}
	best, delay, lag := math.Inf(1), 0.0, 0.0
	for i := range delays {
		for j := range lags {
			d := longest * float64(i) / delays
			x := float64(j) / (lags - 1)
			l := longest * (0.002 + 0.998*x*x)
			if r, _, ok := s.linear(d, l); ok && r < best {
				best, delay, lag = r, d, l
			}
		}
	}
	if math.IsInf(best, 1) {
		return Lag{}, errors.New("the edges around the step do not tell its answer")
	}
	return s.refine(delay, lag, longest)
}

// regressors fills the row of the linear parameters at time at, in units of the scale; and returns
// the derivatives of the answer to a step of one by delay and lag.
func (s *stepFit) regressors(row *[mostTerms]float64, at, delay, lag float64) (byDelay, byLag float64) {
	x := (at - s.step) / s.scale
	row[0], row[1], row[2] = 1, x, x*x/2
	row[3] = x * x * x / 6
	row[4] = x * x * x * x / 24
	row[5], row[6], row[7] = 0, 0, 0
	after := x - delay/s.scale
	if after <= 0 {
		return 0, 0
	}
	tau := lag / s.scale
	decay := math.Exp(-after / tau)
	// The second integral of 1 - exp(-after/tau); slope and curvature have no lag of their own.
	row[5] = float64(after*after)/2 - float64(tau*(after-float64(tau*(1-decay))))
	row[6] = after * after * after / 6
	row[7] = after * after * after * after / 24
	byDelay = -(after - float64(tau*(1-decay)))
	byLag = -after + float64(2*tau*(1-decay)) - float64(after*decay)
	return byDelay, byLag
}

// linear fits the linear parameters and returns the weighted sum of squares that is left.
func (s *stepFit) linear(delay, lag float64) (left float64, c [mostTerms]float64, ok bool) {
	var row [mostTerms]float64
	s.q.reset(stepTerms)
	from := s.t.Angle[0]
	for i := 0; i < len(s.t.Time); i += s.every {
		s.regressors(&row, s.t.Time[i], delay, lag)
		y := s.t.Angle[i] - from
		s.q.add(&row, y, s.weight[i])
	}
	if !s.q.factor() {
		return 0, c, false
	}
	c = s.q.solve(s.q.b)
	left = 0
	for i := 0; i < len(s.t.Time); i += s.every {
		s.regressors(&row, s.t.Time[i], delay, lag)
		r := s.t.Angle[i] - from
		for k := range stepTerms {
			r -= float64(row[k] * c[k])
		}
		left += float64(s.weight[i] * float64(r*r))
	}
	return left, c, true
}

// refine goes on from the best of the grid.
func (s *stepFit) refine(delay, lag, longest float64) (Lag, error) {
	n := len(s.t.Time)
	s.every = 1
	best, c, ok := s.linear(delay, lag)
	var lag1 float64
	for range 40 {
		if !ok {
			return Lag{}, errors.New("the edges around the step do not tell its answer")
		}
		lag1 = s.linearised(delay, lag, &c)
		if !s.q.factor() {
			return Lag{}, errors.New("delay and lag of the answer cannot be told apart from the edges around the step")
		}
		by := s.q.solve(s.q.b)
		part, moved := 1.0, false
		for range 12 {
			d := min(max(delay+float64(part*by[stepTerms])*s.scale, 0), longest)
			l := min(max(lag+float64(part*by[stepTerms+1])*s.scale, longest*1e-4), 2*longest)
			left, next, can := s.linear(d, l)
			if can && left < best {
				moved = best-left > 1e-9*best
				best, delay, lag, c = left, d, l, next
				break
			}
			part /= 2
		}
		if !moved {
			break
		}
	}
	s.linearised(delay, lag, &c)
	if !s.q.factor() {
		return Lag{}, errors.New("delay and lag of the answer cannot be told apart from the edges around the step")
	}
	residual := math.Sqrt(best / float64(n-stepTerms-2) * float64(n) / Effective(n, lag1))
	degrees := max(effectiveSpread(n, lag1)-stepTerms-2, 1)
	var byDelay, byLag, byStep [mostTerms]float64
	byDelay[stepTerms], byLag[stepTerms+1], byStep[5] = 1, 1, 1
	out := Lag{N: n, Step: c[5] / s.scale / s.scale}
	out.Delay = Estimate{Value: delay, Statistical: residual * math.Sqrt(s.q.variance(byDelay)) * s.scale, DegreesOfFreedom: degrees}
	out.Rise = Estimate{Value: ln9 * lag, Statistical: ln9 * residual * math.Sqrt(s.q.variance(byLag)) * s.scale, DegreesOfFreedom: degrees}
	if u := residual * math.Sqrt(s.q.variance(byStep)); !(math.Abs(c[5]) > 4*u) {
		return out, errors.New("the acceleration does not change with the step by more than its uncertainty")
	}
	return out, nil
}

// linearised builds the equations of all eight parameters about these, and returns the autocorrelation
// of what is left.
func (s *stepFit) linearised(delay, lag float64, c *[mostTerms]float64) float64 {
	var row [mostTerms]float64
	s.q.reset(stepTerms + 2)
	var square, product, last float64
	for i, at := range s.t.Time {
		byDelay, byLag := s.regressors(&row, at, delay, lag)
		r := s.t.Angle[i] - s.t.Angle[0]
		for k := range stepTerms {
			r -= float64(row[k] * c[k])
		}
		row[stepTerms], row[stepTerms+1] = c[5]*byDelay, c[5]*byLag
		if x := (at - s.step - delay) / s.scale; x > 0 {
			row[stepTerms] -= float64(c[6]*x*x)/2 + float64(c[7]*x*x*x)/6
		}
		s.q.add(&row, r, s.weight[i])
		r *= math.Sqrt(s.weight[i])
		square += float64(r * r)
		product += float64(last * r)
		last = r
	}
	if square == 0 {
		return 0
	}
	return product / square
}
