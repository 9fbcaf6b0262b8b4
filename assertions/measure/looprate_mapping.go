package measure

import "math"

// degree is that of the polynomial from input to output.
const degree = 6

// mapping is the output as a function of the input, a Chebyshev series, and the
// mean lag between them.
type mapping struct {
	in       *Excitation
	mid, per float64 // input value v stands at (v-mid)*per, within -1..1
	series   [degree + 1]float64
	lag      float64 // s
	left     float64 // mean square of the output that it leaves
}

// value returns the output that belongs to the input's value at time t.
func (m *mapping) value(t float64) float64 {
	x := (m.in.at(t) - m.mid) * m.per
	var b1, b2 float64
	for k := degree; k > 0; k-- {
		b1, b2 = float64(2*x*b1)-b2+m.series[k], b1
	}
	return float64(x*b1) - b2 + m.series[0]
}

// slope returns the output's change in 1/s at time t.
func (m *mapping) slope(t float64) float64 {
	h := m.in.Step
	return (m.value(t+h) - m.value(t-h)) / (2 * h)
}

// fit fits the series by least squares to the frames, each of which carries the
// input of its age ago, and returns the mean square of what it leaves.
func (m *mapping) fit(frames []Answer, age func(i int) float64) float64 {
	var a [degree + 1][degree + 1]float64
	var b, t [degree + 1]float64
	total, n := 0.0, 0.0
	for i := range frames {
		f := &frames[i]
		old := age(i)
		if old != old {
			continue
		}
		x := (m.in.at(f.At-old) - m.mid) * m.per
		t[0], t[1] = 1, x
		for k := 2; k <= degree; k++ {
			t[k] = float64(2*x*t[k-1]) - t[k-2]
		}
		for k := range t {
			b[k] += float64(t[k] * f.Value)
			for l := 0; l <= k; l++ {
				a[k][l] += float64(t[k] * t[l])
			}
		}
		total += float64(f.Value * f.Value)
		n++
	}
	m.series = solve(a, b)
	left := total
	for k := range b {
		left -= float64(m.series[k] * b[k])
	}
	return left / n
}

// fitLag fits the series with the same age for all frames.
func (m *mapping) fitLag(frames []Answer, lag float64) float64 {
	m.lag = lag
	return m.fit(frames, func(int) float64 { return lag })
}

// solve solves a x = b for a symmetric positive a whose lower half is given.
func solve(a [degree + 1][degree + 1]float64, b [degree + 1]float64) (x [degree + 1]float64) {
	for k := range b {
		for l := 0; l <= k; l++ {
			for i := range l {
				a[k][l] -= float64(a[k][i] * a[l][i])
			}
			if l < k {
				a[k][l] /= a[l][l]
			}
		}
		a[k][k] = math.Sqrt(max(a[k][k], float64(1e-12*a[0][0]*a[0][0])+1e-300))
	}
	for k := range b {
		x[k] = b[k]
		for i := range k {
			x[k] -= float64(a[k][i] * x[i])
		}
		x[k] /= a[k][k]
	}
	for k := degree; k >= 0; k-- {
		for i := k + 1; i <= degree; i++ {
			x[k] -= float64(a[i][k] * x[i])
		}
		x[k] /= a[k][k]
	}
	return x
}

// newMapping finds the mapping and the lag that explain the frames best.
func newMapping(in *Excitation, frames []Answer) (*mapping, error) {
	played := RangeOf()
	for _, f := range frames {
		played.Include(in.at(f.At))
	}
	if !(played.Width() > 0) || !finite(played.Width()) {
		return nil, errStill
	}
	m := &mapping{in: in, mid: (played.Low + played.High) / 2, per: 2 / played.Width()}
	some := frames
	if every := len(frames)/700 + 1; every > 1 {
		some = nil
		for i := 0; i < len(frames); i += every {
			some = append(some, frames[i])
		}
	}
	best, at := math.Inf(1), 0.0
	for lag := 0.0; lag <= longestLag; lag += 2e-3 {
		if left := m.fitLag(some, lag); left < best {
			best, at = left, lag
		}
	}
	for h := 1e-3; h > 1e-5; h /= 2 {
		for _, lag := range []float64{at - h, at + h} {
			if left := m.fitLag(some, lag); left < best {
				best, at = left, lag
			}
		}
	}
	if m.left = m.fitLag(frames, at); !(m.left < 0.3*variance(frames)) {
		return nil, errStill
	}
	return m, nil
}

// variance returns the mean square of the frames' values about their mean.
func variance(frames []Answer) float64 {
	var sum, square float64
	for _, f := range frames {
		sum += f.Value
	}
	mean := sum / float64(len(frames))
	for _, f := range frames {
		square += float64((f.Value - mean) * (f.Value - mean))
	}
	return square / float64(len(frames))
}

// Explained returns the share of an output's movement that an input explains,
// 0..1: one minus the ratio of the variances without and with the input. It is
// 0 where the output moves by less than ten of its steps.
func Explained(in Excitation, frames []Answer, step float64) float64 {
	if usable(&in, frames, step) != nil || !(variance(frames) > 10*step*step) {
		return 0
	}
	m, err := newMapping(&in, frames)
	if err != nil {
		return 0
	}
	return 1 - max(m.left, 0)/variance(frames)
}

// longestLag is the longest mean lag from input to output that is looked for, s.
const longestLag = 100e-3
