package measure

import (
	"math"

	"hilrig/plant/portable"
)

// hypothesis is one explanation of the readings: the loop reads every period,
// and a frame's age is its lag plus the part of the period that has gone by.
type hypothesis struct {
	period float64 // s
	lag    float64 // s
	noise  float64 // of a reading about the grid, share of period, beside the resolution
}

// tracker follows the phase of the frames against the loop, a share of the
// period on a grid round the circle, by a hidden Markov model, and tells how
// likely the readings are. It is used by one goroutine.
type tracker struct {
	bins      int
	drift     float64 // standard deviation of the phase from frame to frame
	wander    float64 // and from turn to turn of the loop, on top
	p         []float64
	wrapped   []float64 // p with its ends repeated
	weight    []float64 // of what spreads from bin to bin
	on        []float64 // by bin: that the frame's reading is the nominal one
	late      []float64 // that the nominal reading came too late
	early     []float64 // that the next came early
	turns     float64   // that weight stands for
	from      int       // bin that wrapped begins with
	densities [classes][]float64
	middle    int     // index of 0 in densities
	narrow    float64 // s, the smallest width
	ratio     float64 // of widths, over half a class
}

const (
	classes       = 4  // of uncertainty
	fine          = 8  // steps of a density to a bin
	background    = .5 // 1/s, density of readings that fit nothing
	outlierShare  = .1 // share of readings with larger noise
	outlierFactor = 3  // by how much
)

func newTracker(bins int, drift, wander float64) *tracker {
	return &tracker{
		bins: bins, drift: drift, wander: wander,
		p: make([]float64, bins), wrapped: make([]float64, 2*bins+2),
		on: make([]float64, bins), late: make([]float64, bins), early: make([]float64, bins),
	}
}

// likelihood returns the logarithm of the readings' likelihood under h.
func (k *tracker) likelihood(readings []reading, h hypothesis) float64 {
	k.prepare(readings, h)
	sum, product := 0.0, 1.0
	for i := range readings {
		r := &readings[i]
		if i > 0 {
			k.advance((r.at - readings[i-1].at) / h.period)
		}
		product *= k.update(r, h)
		if product < 1e-200 || product > 1e200 {
			sum += portable.Log(product)
			product = 1
		}
	}
	return sum + portable.Log(product)
}

// ages predicts the age of each frame from those before it, in s. Where it
// cannot be told, it is not a number; ok is false where that is so for most.
func (k *tracker) ages(readings []reading, h hypothesis) (ages []float64, ok bool) {
	k.prepare(readings, h)
	ages = make([]float64, len(readings))
	told := 0
	for i := range readings {
		r := &readings[i]
		if i > 0 {
			k.advance((r.at - readings[i-1].at) / h.period)
		}
		ages[i] = math.NaN()
		if mean, spread := k.phase(); spread < 0.15 {
			ages[i] = h.lag + float64(mean*h.period)
			told++
		}
		if !r.blind {
			k.update(r, h)
		}
	}
	return ages, 2*told > len(readings)
}

// forget makes every phase as likely as any other.
func (k *tracker) forget() {
	for m := range k.p {
		k.p[m] = 1 / float64(k.bins)
	}
}

// phase returns the mean phase and its standard deviation, which is large where
// it may have wrapped.
func (k *tracker) phase() (mean, spread float64) {
	var square float64
	for m, p := range k.p {
		x := (float64(m) + 0.5) / float64(k.bins)
		mean += float64(p * x)
		square += float64(float64(p*x) * x)
	}
	return mean, math.Sqrt(max(square-float64(mean*mean), 0))
}

// prepare begins with a phase that is not known, and works out what does not change from
// reading to reading.
func (k *tracker) prepare(readings []reading, h hypothesis) {
	k.forget()
	k.weight = k.weight[:0]
	widths := RangeOf()
	for i := range readings {
		if !readings[i].blind {
			widths.Include(readings[i].width)
		}
	}
	k.narrow = widths.Low
	k.ratio = math.Sqrt(math.Sqrt(math.Sqrt(widths.High / widths.Low)))
	edge := min(max(h.noise, 0.01), 0.12)
	for m := range k.p {
		phase := (float64(m) + 0.5) / float64(k.bins)
		k.late[m] = normalTail(phase / edge)
		k.early[m] = normalTail((1 - phase) / edge)
		k.on[m] = 1 - k.late[m] - k.early[m]
	}
	size := k.bins * fine
	k.middle = size + size/4
	width := k.narrow * k.ratio
	for c := range k.densities {
		if len(k.densities[c]) != 2*k.middle+1 {
			k.densities[c] = make([]float64, 2*k.middle+1)
		}
		k.fillDensity(k.densities[c], width/h.period, h)
		width *= k.ratio * k.ratio
	}
}

// fillDensity fills a density: the density in 1/s of a reading that lies anywhere over a
// width, a share of the period, with noise on top that is normal but for a few
// readings, whose noise is larger.
func (k *tracker) fillDensity(density []float64, width float64, h hypothesis) {
	step := 1 / float64(k.bins*fine)
	top := 1 / (width * h.period)
	noise := max(h.noise, 1e-3)
	box := func(x, noise float64) float64 {
		far := (x - width/2) / noise
		if far > 6 {
			return 0
		}
		return normalAbove(far) - normalAbove((x+width/2)/noise)
	}
	for i := range k.middle + 1 {
		x := float64(i) * step
		v := top * (float64((1-outlierShare)*box(x, noise)) + float64(outlierShare*box(x, outlierFactor*noise)))
		density[k.middle+i], density[k.middle-i] = v, v
	}
}

// class returns the class of a reading's width.
func (k *tracker) class(width float64) int {
	limit := k.narrow
	for c := range classes - 1 {
		limit *= k.ratio * k.ratio
		if width <= limit {
			return c
		}
	}
	return classes - 1
}

// advance moves the phase on by that many turns of the loop.
func (k *tracker) advance(turns float64) {
	n := k.bins
	if math.Abs(turns-k.turns) > 1e-7 || len(k.weight) == 0 {
		k.spread(turns)
	}
	if len(k.weight) > n { // nothing is left of what was known
		k.forget()
		return
	}
	// wrapped[i] is the phase at bin i-base-taps-1.
	from := k.from
	for i := range k.wrapped[:n+len(k.weight)] {
		k.wrapped[i] = k.p[from]
		if from++; from == n {
			from = 0
		}
	}
	p := k.p
	clear(p)
	for i := 0; i+1 < len(k.weight); i += 2 {
		w, v := k.weight[i], k.weight[i+1]
		a := k.wrapped[len(k.weight)-1-i:][:len(p)]
		b := k.wrapped[len(k.weight)-2-i:][:len(p)]
		for m := range p {
			p[m] += float64(w*a[m]) + float64(v*b[m])
		}
	}
}

// spread works out how the phase moves on and spreads over that many turns.
func (k *tracker) spread(turns float64) {
	n := k.bins
	k.turns = turns
	wide := math.Sqrt(float64(k.drift*k.drift)+float64(k.wander*k.wander*turns)) * float64(n)
	wide = max(wide, 0.6)
	taps := min(int(3*wide)+1, n)
	shift := (turns - math.Floor(turns)) * float64(n)
	base := math.Floor(shift)
	fraction := shift - base
	// The mean of a density at whole bins is not quite its middle: mend it.
	k.weigh(taps, fraction, wide)
	mean := 0.0
	for i, w := range k.weight {
		mean += float64(w * float64(i-taps))
	}
	k.weigh(taps, float64(2*fraction)-mean, wide)
	k.from = ((-int(base)-taps-1)%n + n) % n
}

// weigh fills the weights of the bins from -taps to taps+1 about a middle.
func (k *tracker) weigh(taps int, middle, wide float64) {
	k.weight = k.weight[:0]
	sum := 0.0
	for i := -taps; i <= taps+1; i++ {
		z := (float64(i) - middle) / wide
		w := portable.Exp(-0.5 * float64(z*z))
		k.weight = append(k.weight, w)
		sum += w
	}
	for i := range k.weight {
		k.weight[i] /= sum
	}
}

// update takes a reading in and returns how likely it was.
func (k *tracker) update(r *reading, h hypothesis) float64 {
	density := k.densities[k.class(r.width)]
	size := k.bins * fine
	place := (r.age - h.lag) / h.period
	if place > 3 || place < -2 {
		place = 3
	}
	// A reading at the middle of bin m stands fine*m + fine/2 up.
	at := int(math.Floor(float64(place*float64(size))+0.5)) - fine/2 + k.middle
	total := 0.0
	for m := range k.p {
		i := at - fine*m
		seen := background
		if i >= 0 && i < len(density) {
			seen += float64(k.on[m] * density[i])
		}
		if j := i - size; j >= 0 && j < len(density) && k.late[m] > 1e-6 {
			seen += float64(k.late[m] * density[j])
		}
		if j := i + size; j >= 0 && j < len(density) && k.early[m] > 1e-6 {
			seen += float64(k.early[m] * density[j])
		}
		if r.half {
			seen = math.Sqrt(seen)
		}
		k.p[m] *= seen
		total += k.p[m]
	}
	scale := 1 / total
	for m := range k.p {
		k.p[m] *= scale
	}
	return total
}

// normalAbove returns about the share of a normal distribution above z standard
// deviations.
func normalAbove(z float64) float64 {
	if z < 0 {
		return 1 - normalTail(-z)
	}
	return normalTail(z)
}

// normalTail returns about the share of a normal distribution above z >= 0
// standard deviations.
func normalTail(z float64) float64 {
	if z > 6 {
		return 0
	}
	// C. Hastings, Approximations for Digital Computers (1955); Abramowitz and
	// Stegun 26.2.17, error below 7.5e-8; from memory.
	t := 1 / (1 + 0.2316419*z)
	s := 0.319381530 + float64(t*(-0.356563782+float64(t*(1.781477937+float64(t*(-1.821255978+float64(t*1.330274429)))))))
	return 0.3989422804014327 * portable.Exp(-0.5*float64(z*z)) * t * s
}
