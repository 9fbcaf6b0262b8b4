package measure

import (
	"math"

	"hilrig/plant/portable"
)

// hypothesis is one explanation of the frames: the loop reads every period, and a frame's
// age is its lag plus the part of the period that has gone by.
type hypothesis struct {
	period float64 // s
	lag    float64 // s
	jitter float64 // of a reading about the grid, share of period, rms
	wander float64 // of a period, share of it, rms, which adds up
	noise  float64 // of the output, unit of value, rms
	repeat float64 // share of readings, beyond chance, that change nothing of the output
	per    int     // turns of the loop in a period, which reads the input in one of them alone; 0 and 1: in each
}

// turn returns the time from turn to turn of the loop, s.
func (h *hypothesis) turn() float64 { return h.period / float64(max(h.per, 1)) }

// tracker follows the phase of the frames against the loop, a share of the
// period on a grid round the circle, by a hidden Markov model, and tells how
// likely the frames are. It is used by one goroutine.
type tracker struct {
	bins    int
	drift   float64 // standard deviation of the phase from frame to frame, beside the wander
	still   bool    // no frame repeats a reading, whatever the phase
	blurred bool    // nothing is known of the phase from frame to frame
	curve   *curve
	around  float64 // background: the probability of a value that nothing explains, for each unit of half
	p       []float64
	wrapped []float64 // p with its ends repeated
	weight  []float64 // of what spreads from bin to bin
	on      []float64 // by bin: that the frame's reading is the nominal one
	late    []float64 // that the nominal reading came too late
	early   []float64 // that the next came early
	plain   []bool    // by bin: whether it is worth a look
	turns   float64   // that weight stands for
	wide    float64   // bins, over which the phase spreads in them
	from    int       // bin that wrapped begins with
}

const (
	stray  = 0.02 // share of readings that the model does not predict: late ones, and outliers
	stalls = 0.01 // share of turns that come late by up to a period
	leak   = 1e-3 // share of frames before which the phase jumped
)

func newTracker(bins int, drift float64, c *curve, around float64) *tracker {
	return &tracker{
		bins: bins, drift: drift, curve: c, around: around,
		p: make([]float64, bins), plain: make([]bool, bins), wrapped: make([]float64, 2*bins+2),
		on: make([]float64, bins), late: make([]float64, bins), early: make([]float64, bins),
	}
}

// likelihood returns the logarithm of the frames' likelihood under h.
func (k *tracker) likelihood(frames []shown, h *hypothesis) float64 {
	k.prepare(h)
	sum, product := 0.0, 1.0
	for i := range frames {
		turns := math.Inf(1)
		if i > 0 {
			turns = (frames[i].turns - frames[i-1].turns) / h.period
			k.advance(turns, h)
		}
		product *= k.update(&frames[i], turns, h)
		if product < 1e-200 || product > 1e200 {
			sum += portable.Log(product)
			product = 1
		}
	}
	return sum + portable.Log(product)
}

// ages predicts the age of each frame from those before it, in s. Where it
// cannot be told, it is not a number; ok is false where that is so for most.
func (k *tracker) ages(frames []shown, h *hypothesis) (ages []float64, ok bool) {
	k.prepare(h)
	ages = make([]float64, len(frames))
	told := 0
	for i := range frames {
		turns := math.Inf(1)
		if i > 0 {
			turns = (frames[i].turns - frames[i-1].turns) / h.period
			k.advance(turns, h)
		}
		ages[i] = math.NaN()
		if mean, spread := k.phase(); spread < 0.15 {
			ages[i] = h.lag + float64(mean*h.period)
			told++
		}
		k.update(&frames[i], turns, h)
	}
	return ages, 2*told > len(frames)
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
// frame to frame.
func (k *tracker) prepare(h *hypothesis) {
	k.forget()
	k.weight = k.weight[:0]
	edge := min(max(h.jitter, 0.005), 0.12) / float64(max(h.per, 1))
	for m := range k.p {
		phase := (float64(m) + 0.5) / float64(k.bins)
		k.late[m] = max(normalTail(phase/edge), stalls*(1-phase))
		k.early[m] = normalTail((1 - phase) / edge)
		k.on[m] = 1 - k.late[m] - k.early[m]
	}
}

// advance moves the phase on by that many turns of the loop.
func (k *tracker) advance(turns float64, h *hypothesis) {
	n := k.bins
	if k.blurred {
		k.forget()
		return
	}
	if math.Abs(turns-k.turns) > 1e-7 || len(k.weight) == 0 {
		k.spread(turns, h.wander)
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
	for m := range p {
		p[m] = leak / float64(n)
	}
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
func (k *tracker) spread(turns, wander float64) {
	n := k.bins
	k.turns = turns
	wide := math.Sqrt(float64(k.drift*k.drift)+float64(wander*wander*turns)) * float64(n)
	k.wide = wide
	wide = max(wide, 0.5)
	taps := min(int(3*wide)+1, n)
	shift := (turns - math.Floor(turns)) * float64(n)
	base := math.Floor(shift)
	fraction := shift - base
	// The mean of a density at whole bins is not quite its middle: mend it.
	k.weigh(taps, fraction, wide)
	if wide < 1 {
		mean := 0.0
		for i, w := range k.weight {
			mean += float64(w * float64(i-taps))
		}
		k.weigh(taps, float64(2*fraction)-mean/(1-leak), wide)
	}
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
		k.weight[i] *= (1 - leak) / sum
	}
}

// update takes a frame in, that many turns after the last, and returns how likely it was.
func (k *tracker) update(f *shown, turns float64, h *hypothesis) float64 {
	n := float64(k.bins)
	middle := f.at - h.lag - h.period/2
	blur := float64(h.jitter*h.period) * k.curve.slope(middle)
	noise := math.Sqrt(float64(h.noise*h.noise) + float64(blur*blur) + float64(0.04*f.half*f.half))
	c, scale := k.curve, 1/noise
	place := (f.at - h.lag - float64(h.period*0.5/n) - c.start) / curveStep
	step := h.period / n / curveStep
	once := h.period / curveStep
	per := max(h.per, 1)
	inTurn := k.bins / per // bins of one turn
	// The input is older than what moved beside it by what the mapping found for the mean.
	older := float64(per-1) / 2 * h.turn() / curveStep
	background := min(k.around*f.half, 0.5)
	high, low := (f.value+f.half)*scale, (f.value-f.half)*scale
	expects := func(place, beside float64) float64 {
		y := between(c.values, place+older)
		if len(c.beside) > 0 {
			y += between(c.beside, beside)
		}
		y *= scale
		return below(high-y) - below(low-y)
	}
	// Which phases say that the loop has turned since the frame before.
	fresh := f.gap || k.still || k.blurred && turns >= 1 || !(turns*float64(per) < 1.2)
	soft := max(2/n, 3*(k.wide/n+min(h.jitter, 0.1)/float64(per)))
	surprise := background
	if !fresh && !f.same {
		young := place - float64(min(turns, 1)*n*step)/2
		surprise += expects(young, young)
	}
	// What the phase may be but hardly is counts only where nothing else predicts the frame.
	total := 0.0
	const hardly, plainly = 1e-4, 0.01
	seen := func(m int) float64 {
		anew := 1.0
		if !fresh {
			anew = min(max((turns-(float64(m%inTurn)+0.5)/n)/soft+0.5, 0), 1)
		}
		sum := 0.0
		if anew > 0 {
			at := place - float64(float64(m)*step)
			beside := at
			if per > 1 {
				beside = place - float64(float64(m%inTurn)*step)
			}
			x := float64(k.on[m] * expects(at, beside))
			if late := k.late[m]; late > 0.03 || late > 1e-4 && k.p[m] > plainly {
				x += float64(late * expects(at-once, beside-once/float64(per)))
			}
			if k.early[m] > 1e-4 {
				x += float64(k.early[m] * expects(at+once, beside+once/float64(per)))
			}
			x = float64((1-stray)*x) + float64(stray*background)
			if !f.gap {
				x *= 1 - h.repeat
				if f.same {
					x += h.repeat
				}
			}
			sum = float64(anew * x)
		}
		if anew < 1 {
			if f.same {
				sum += 1 - anew
			} else {
				sum += float64((1 - anew) * stray * surprise)
			}
		}
		return sum
	}
	for m, p := range k.p {
		if k.plain[m] = p > hardly; k.plain[m] {
			k.p[m] = p * seen(m)
			total += k.p[m]
		}
	}
	predicted := total > 20*stray*background
	for m, p := range k.p {
		switch {
		case k.plain[m]:
			continue
		case predicted:
			k.p[m] = float64(p * stray * background)
		default:
			k.p[m] = p * seen(m)
		}
		total += k.p[m]
	}
	if !(total > 0) {
		k.forget()
		return 1e-300
	}
	inverse := 1 / total
	for m := range k.p {
		k.p[m] *= inverse
	}
	return total
}

// tails is the table of below: the share of readings below z standard deviations, from
// -tailsTo to tailsTo. Most are normal; some have larger noise.
var tails = tailsTable()

const (
	tailsTo       = 18
	tailsEach     = 64 // entries for each standard deviation
	outlierShare  = 0.1
	outlierFactor = 3
)

func tailsTable() []float64 {
	t := make([]float64, 2*tailsTo*tailsEach+2)
	for i := range t {
		z := float64(i)/tailsEach - tailsTo
		t[i] = float64((1-outlierShare)*(1-normalAbove(z))) + float64(outlierShare*(1-normalAbove(z/outlierFactor)))
	}
	return t
}

// below returns the share of readings below z standard deviations.
func below(z float64) float64 {
	x := float64(z*tailsEach) + tailsTo*tailsEach
	if !(x > 0) {
		return 0
	}
	if x >= 2*tailsTo*tailsEach {
		return 1
	}
	i := int(x)
	return tails[i] + float64((x-float64(i))*(tails[i+1]-tails[i]))
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
