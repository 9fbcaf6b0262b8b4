package measure

import "math"

// Known is the value that an input took at one time, and kept until the next.
type Known struct {
	At    float64 // s
	Value float64
}

// curveStep is how far apart the values of a curve are, s.
const curveStep = 25e-6

// curve is the output that a mapping predicts, by the time at which the inputs were read.
type curve struct {
	start  float64   // s, of values[0]
	values []float64 // by the input
	beside []float64 // what moved beside it adds; empty: nothing
	slopes []float64 // 1/s, without the steps of what moved beside
}

// curve works the output out from one time to another.
func (m *mapping) curve(from, to float64) *curve {
	n := int((to-from)/curveStep) + 2
	c := &curve{start: from, values: make([]float64, n), slopes: make([]float64, n)}
	known := 0
	if m.share != 0 {
		c.beside = make([]float64, n)
	}
	for i := range c.values {
		t := from + float64(float64(i)*curveStep)
		c.values[i] = m.value(t - m.behind)
		if m.share != 0 {
			for known+1 < len(m.in.Beside) && m.in.Beside[known+1].At <= t {
				known++
			}
			c.beside[i] = m.share * (m.in.Beside[known].Value - m.about)
		}
	}
	const each = 8 // slopes are smooth
	for i := range c.slopes {
		if i%each == 0 {
			c.slopes[i] = m.slope(from + float64(float64(i)*curveStep) - m.behind)
		} else {
			c.slopes[i] = c.slopes[i-i%each]
		}
	}
	return c
}

// slope returns the curve's slope at a time, 1/s.
func (c *curve) slope(t float64) float64 {
	i := int((t - c.start) / curveStep)
	return c.slopes[min(max(i, 0), len(c.slopes)-1)]
}

// beside fits how the output goes with what moved beside the input, where it does: the
// mean age of that in the frames, and its share. What the frames leave of the fit by the
// input alone is searched for it.
func (m *mapping) beside(frames []Answer) {
	known := m.in.Beside
	m.share, m.behind, m.about = 0, 0, 0
	if len(known) < 20 {
		return
	}
	sum := 0.0
	for _, k := range known {
		sum += k.Value
	}
	m.about = sum / float64(len(known))
	// Frames in which the input stands nearly still tell most.
	m.share = 0
	c := m.curve(frames[0].At-m.lag-1e-3, frames[len(frames)-1].At-m.lag+1e-3)
	noise, period := m.spread(frames, c)
	left, weight := make([]float64, len(frames)), make([]float64, len(frames))
	total, updates := 0.0, 1.0
	for i := range frames {
		t := frames[i].At - m.lag
		old := c.slope(t) * period
		left[i], weight[i] = frames[i].Value-c.at(t), 1/(float64(noise*noise)+float64(old*old)/12+1e-12)
		total += float64(weight[i] * left[i] * left[i])
		if i > 0 && frames[i].Value != frames[i-1].Value {
			updates++
		}
	}
	explains := func(age float64) (share, gain float64) {
		var xx, xy float64
		at := 0
		for i := range frames {
			t := frames[i].At - age
			for at+1 < len(known) && known[at+1].At <= t {
				at++
			}
			x := known[at].Value - m.about
			xx += float64(weight[i] * x * x)
			xy += float64(weight[i] * x * left[i])
		}
		if !(xx > 0) {
			return 0, 0
		}
		return xy / xx, float64(xy*xy) / xx
	}
	best, at, share := 0.0, 0.0, 0.0
	for age := 0.0; age <= longestBeside; age += 0.25e-3 {
		if s, gain := explains(age); gain > best {
			best, at, share = gain, age, s
		}
	}
	for h := 0.12e-3; h > 4e-6; h /= 2 {
		for _, age := range []float64{at - h, at + h} {
			if s, gain := explains(age); age >= 0 && gain > best {
				best, at, share = gain, age, s
			}
		}
	}
	// Gains of what has nothing to do with it are those of chi-squared with one degree of
	// freedom: over 200 ages one of 25 comes by once in 10^4.
	if !(best > 25*total/updates) {
		return
	}
	m.share, m.behind, m.gain = share, m.lag-at, best/total*updates
}

// longestBeside is the longest age that is looked for of what moved beside the input, s.
const longestBeside = 50e-3

// spread tells the spread of the ages from the noise of the output by what the fit leaves:
// the noise is there where the output stands, the ages' spread only where it moves.
// It returns the output's noise and the period over which ages of that spread lie evenly, s.
func (m *mapping) spread(frames []Answer, c *curve) (noise, period float64) {
	age := m.lag - m.behind
	var s0, s1, s2, r0, r1 float64
	most := 0.0
	for i := range frames {
		most = max(most, math.Abs(c.slope(frames[i].At-age)))
	}
	if !(most > 0) {
		return 0, 0
	}
	for i := range frames {
		k := c.slope(frames[i].At-age) / most
		k *= k
		x := frames[i].Value - c.at(frames[i].At-age)
		x *= x
		s0, s1, s2 = s0+1, s1+k, s2+float64(k*k)
		r0, r1 = r0+x, r1+float64(k*x)
	}
	det := float64(s0*s2) - float64(s1*s1)
	steep := (float64(s0*r1) - float64(s1*r0)) / det
	flat := (r0 - float64(steep*s1)) / s0
	if steep < 0 {
		flat, steep = r0/s0, 0
	}
	if flat < 0 {
		flat = 0
	}
	return math.Sqrt(flat), math.Sqrt(12*steep) / most
}

// at returns the curve's value at a time.
func (c *curve) at(t float64) float64 {
	x := (t - c.start) / curveStep
	y := between(c.values, x)
	if len(c.beside) > 0 {
		y += between(c.beside, x)
	}
	return y
}

// between returns the value at a place among evenly spaced ones; beyond the ends, that of
// the end.
func between(values []float64, place float64) float64 {
	i := int(place)
	switch {
	case !(place > 0):
		return values[0]
	case i >= len(values)-1:
		return values[len(values)-1]
	}
	return values[i] + float64((place-float64(i))*(values[i+1]-values[i]))
}
