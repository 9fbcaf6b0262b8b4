package measure

import (
	"math"

	"hilrig/plant/portable"
)

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

	// What moved beside the input: the output goes with it by share, about its mean. It is
	// younger in the frames than the input by behind, s.
	share, about, behind float64
	gain                 float64 // how plainly it does, as chi-squared

	// Sensors that count marks see a slow wheel later than a fast one: the input is older by
	// slack over its magnitude, unit of input times s. least is the least magnitude that
	// counts.
	slack, least float64
}

// read returns the input as a sensor tells it at time t.
func (m *mapping) read(t float64) float64 {
	v := m.in.at(t)
	if m.slack == 0 {
		return v
	}
	return m.in.at(t - m.slack/max(math.Abs(v), m.least))
}

// value returns the output that belongs to the input's value at time t.
func (m *mapping) value(t float64) float64 {
	x := (m.read(t) - m.mid) * m.per
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
	known := 0
	for i := range frames {
		f := &frames[i]
		old := age(i)
		if old != old {
			continue
		}
		value := f.Value
		if m.share != 0 {
			read := f.At - old + m.behind
			known = min(known, len(m.in.Beside)-1)
			for known+1 < len(m.in.Beside) && m.in.Beside[known+1].At <= read {
				known++
			}
			for known > 0 && m.in.Beside[known].At > read {
				known--
			}
			value -= float64(m.share * (m.in.Beside[known].Value - m.about))
		}
		x := (m.read(f.At-old) - m.mid) * m.per
		t[0], t[1] = 1, x
		for k := 2; k <= degree; k++ {
			t[k] = float64(2*x*t[k-1]) - t[k-2]
		}
		for k := range t {
			b[k] += float64(t[k] * value)
			for l := 0; l <= k; l++ {
				a[k][l] += float64(t[k] * t[l])
			}
		}
		total += float64(value * value)
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
	m := &mapping{in: in, mid: (played.Low + played.High) / 2, per: 2 / played.Width(),
		least: max(math.Abs(played.Low), math.Abs(played.High)) / 20}
	some := thinned(frames, 700)
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

// fitSlack looks for a lag that goes with the inverse of the input.
func (m *mapping) fitSlack(frames []Answer) {
	some := thinned(frames, 1500)
	mean := 0.0
	for i := range some {
		mean += 1 / max(math.Abs(m.in.at(some[i].At-m.lag)), m.least)
	}
	mean /= float64(len(some))
	lag := m.lag
	try := func(slack float64) float64 {
		m.slack = slack
		best := math.Inf(1)
		for _, h := range []float64{-0.2e-3, -0.1e-3, 0, 0.1e-3, 0.2e-3} {
			best = min(best, m.fitLag(some, lag-slack*mean+h))
		}
		return best
	}
	none := try(0)
	best, at := none, 0.0
	most := 3e-3 / mean // what makes 3 ms at the mean
	for slack := most / 12; slack <= most; slack += most / 12 {
		if left := try(slack); left < best {
			best, at = left, slack
		}
	}
	for h := most / 24; h > most/200; h /= 2 {
		for _, slack := range []float64{at - h, at + h} {
			if slack > 0 {
				if left := try(slack); left < best {
					best, at = left, slack
				}
			}
		}
	}
	updates := 1.0
	for i := 1; i < len(some); i++ {
		if some[i].Value != some[i-1].Value {
			updates++
		}
	}
	gain := updates * portable.Log(none/best)
	m.slack = 0
	if gain > 15 {
		m.slack = at
		lag -= at * mean
	}
	better, by := math.Inf(1), 0.0
	for h := -0.5e-3; h <= 0.5e-3; h += 0.05e-3 {
		if left := m.fitLag(some, lag+h); left < better {
			better, by = left, h
		}
	}
	m.left = m.fitLag(frames, lag+by)
}

// thinned returns about n of the frames, spread evenly.
func thinned(frames []Answer, n int) []Answer {
	every := len(frames)/n + 1
	if every == 1 {
		return frames
	}
	var some []Answer
	for i := 0; i < len(frames); i += every {
		some = append(some, frames[i])
	}
	return some
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
