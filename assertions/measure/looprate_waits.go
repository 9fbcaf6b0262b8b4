package measure

import (
	"cmp"
	"math"
	"slices"

	"hilrig/plant/portable"
)

// Wait is what one change of an input tells of the loop's turns: the turn that read it came so
// long after the change that the frame which began at Before did not carry it, and that at
// After did.
type Wait struct {
	At            float64 // s, when the input changed
	Before, After float64 // s from At
}

// PeriodOfWaits finds the mean period of a loop from the waits of changes for its turns, in the
// order of time: where each turn follows on the last, the waits of all hang together. Of a
// board that reads one input in some of its turns alone, as it counts marks over windows, the
// waits of another input that each turn reads show the turns themselves. parts is what
// [SeparateResponse] makes of the same waits; the period is looked for near the loop's there.
//
// # Method
//
// The phase of the loop at each change is followed round a circle, as [UpdatePeriod] follows
// that at each frame: from change to change it goes on by the time between them over the
// period, and spreads as turns wander; each wait then tells within what part of a turn it was.
// One in fifty is taken to tell nothing, for a turn comes late once in a while.
//
// ok is false where the waits do not hang together far better than by chance, or another
// period explains them nearly as well. Within holds the period that the loop has in the long run
// with 99 % confidence: it is where the likelihood lies, with all wanders as likely as it makes
// them.
func PeriodOfWaits(waits []Wait, parts Parts) (u Updates, ok bool) {
	w := newWaiting(waits, parts)
	if w == nil {
		return u, false
	}
	peaks := w.peaks()
	if len(peaks) == 0 || peaks[0].fit < w.apart(peaks[0])+hangTogether || len(peaks) > 1 && peaks[0].fit < peaks[1].fit+otherOdds {
		return u, false
	}
	best := peaks[0]
	within, narrow := w.within(best)
	if !narrow {
		return u, false
	}
	return Updates{Period: best.period, Within: within, Lag: best.delay, Readings: len(waits)}, true
}

// hangTogether is by how much, as a logarithm, waits have to be explained better by turns that
// follow on each other than by turns that do not: over some hundred periods that are tried one
// comes to 5 of itself. otherOdds is by how much they have to be better than those of any other.
const (
	hangTogether = 12
	otherOdds    = 6
)

// waited is one explanation of waits.
type waited struct {
	period float64 // s
	delay  float64 // s, that passes before and after the loop's turn in any case
	wander float64 // of a period, share of it, rms, which adds up
	soft   float64 // of a turn about its grid, share of period, rms
	fit    float64
}

// waiting looks for the explanation of waits. It is used by one goroutine.
type waiting struct {
	waits   []Wait
	parts   Parts
	usual   float64 // s, the median time from change to change
	frame   float64 // s, the median time from frame to frame
	p, next []float64
	kernel  []float64
	twice   [2 * phaseCells]float64 // p, and once more behind it
}

const (
	phaseCells = 32
	// mostSpread is the spread of a phase, in turns, from which nothing is known of it.
	mostSpread = 0.5
)

// newWaiting returns nil where there are too few waits, or they leave open whether there is a
// wait for the loop at all.
func newWaiting(waits []Wait, parts Parts) *waiting {
	if len(waits) < fewestFrames || !(parts.LoopWithin.Low > 0) || !finite(parts.LoopWithin.High) {
		return nil
	}
	gaps := make([]float64, len(waits)-1)
	frames := make([]float64, len(waits))
	for i, w := range waits {
		if !finite(w.At) || !finite(w.Before) || !finite(w.After) || i > 0 && !(w.At > waits[i-1].At) {
			return nil
		}
		if i > 0 {
			gaps[i-1] = w.At - waits[i-1].At
		}
		frames[i] = w.After - w.Before
	}
	slices.Sort(gaps)
	slices.Sort(frames)
	if parts.LoopWithin.Low < 0.2*frames[len(frames)/2] {
		return nil
	}
	return &waiting{
		waits: waits, parts: parts, usual: gaps[len(gaps)/2], frame: frames[len(frames)/2],
		p: make([]float64, phaseCells), next: make([]float64, phaseCells), kernel: make([]float64, phaseCells),
	}
}

// likelihood returns the logarithm of the likelihood of all waits; forgetting says that nothing is
// known of the phase from one to the next.
func (w *waiting) likelihood(h *waited, forgetting bool) float64 {
	sum, product := 0.0, 1.0
	for i := range w.waits {
		if i == 0 || forgetting {
			w.forget()
		} else {
			w.advance((w.waits[i].At-w.waits[i-1].At)/h.period, h.wander)
		}
		product *= w.update(&w.waits[i], h)
		if product < 1e-200 {
			sum += portable.Log(product)
			product = 1
		}
	}
	return sum + portable.Log(product)
}

func (w *waiting) forget() {
	for m := range w.p {
		w.p[m] = 1.0 / phaseCells
	}
}

// advance moves the phase on by that many turns.
func (w *waiting) advance(turns, wander float64) {
	spread := math.Sqrt(float64(wander*wander*turns) + 1e-5)
	if spread > mostSpread {
		w.forget()
		return
	}
	shift := (turns - math.Floor(turns)) * phaseCells
	wide := spread * phaseCells
	sum := 0.0
	for k := range w.kernel {
		g := 0.0
		for _, round := range [...]float64{-2, -1, 0, 1} {
			g += bell((float64(k) - shift - float64(round*phaseCells)) / wide)
		}
		w.kernel[k] = g
		sum += g
	}
	for m := range w.next {
		w.next[m] = leak / phaseCells
	}
	copy(w.twice[:], w.p)
	copy(w.twice[phaseCells:], w.p)
	wait, weight := 0, 0.0 // one that is brought in with the next, so that each cell is read and written once for two
	for k, g := range w.kernel {
		g *= (1 - leak) / sum
		switch {
		case g < 1e-5:
		case weight == 0:
			wait, weight = k, g
		default:
			w.spread(wait, weight, k, g)
			weight = 0
		}
	}
	if weight > 0 {
		w.spread(wait, weight, wait, 0)
	}
	w.p, w.next = w.next, w.p
}

// spread brings in the phase moved on by i cells, with a weight, and then that by k.
func (w *waiting) spread(i int, by float64, k int, with float64) {
	first, then := w.twice[phaseCells-i:][:phaseCells], w.twice[phaseCells-k:][:phaseCells]
	next := w.next[:phaseCells]
	for m := range next {
		next[m] = next[m] + float64(by*first[m]) + float64(with*then[m])
	}
}

// bells is the table of bell.
var bells = func() (t [bellsTo*bellsEach + 2]float64) {
	for i := range t {
		z := float64(i) / bellsEach
		t[i] = portable.Exp(-0.5 * float64(z*z))
	}
	return t
}()

const (
	bellsTo   = 5
	bellsEach = 64 // entries for each standard deviation
)

// bell returns the density of a normal distribution at z standard deviations, its middle being 1;
// 0 beyond five.
func bell(z float64) float64 {
	x := math.Abs(z) * bellsEach
	if !(x < bellsTo*bellsEach) {
		return 0
	}
	i := int(x)
	return bells[i] + float64((x-float64(i))*(bells[i+1]-bells[i]))
}

// update takes a wait in and returns how likely it was.
func (w *waiting) update(x *Wait, h *waited) float64 {
	edge := 1 / (max(3*h.soft, 1.0/phaseCells) * h.period)
	total := 0.0
	for m := range w.p {
		took := h.delay + float64(h.period*(1-(float64(m)+0.5)/phaseCells))
		by := min(max((x.After-took)*edge+0.5, 0), 1)
		not := min(max((x.Before-took)*edge+0.5, 0), 1)
		w.p[m] *= float64((1-stray)*(by-not)) + stray/2
		total += w.p[m]
	}
	if !(total > 0) {
		w.forget()
		return 1e-300
	}
	for m := range w.p {
		w.p[m] /= total
	}
	return total
}

// fitted returns h with its fit.
func (w *waiting) fitted(h waited) waited {
	if h.delay < 0 {
		h.fit = math.Inf(-1)
		return h
	}
	h.fit = w.likelihood(&h, false)
	return h
}

// apart returns how well turns that do not follow on each other explain the waits.
func (w *waiting) apart(h waited) float64 {
	best := w.likelihood(&h, true)
	h.period, h.delay = w.parts.Loop, w.parts.Delay
	return max(best, w.likelihood(&h, true))
}

// roughWander is the wander of the first look, rms: large, so that the maxima are broad.
const roughWander = 0.025

// step returns the share of a period by which the phase goes wrong, over the usual time from
// change to change, by about half of what wander makes of it.
func (w *waiting) step(period float64) float64 {
	turns := w.usual / period
	return max(0.08, 0.5*roughWander*math.Sqrt(turns)) / turns
}

// fewPhases is how much longer than the waits are spread a turn may be: what brings the changes, as a sensor whose frames
// come at a small ratio to the turns, may meet them at four phases alone, a quarter of a turn apart.
const fewPhases = 4.0 / 3

// peaks returns the explanations that are better than their neighbours, best first.
func (w *waiting) peaks() []waited {
	b := w.parts.LoopWithin
	more := float64(0.5*b.Width()) + float64(0.03*w.parts.Loop)
	from, to := max(b.Low-more, 0.5*b.Low), fewPhases*(b.High+more)
	var row []waited
	for period := from; period < to; period *= 1 + min(w.step(period), 0.05) {
		best := waited{fit: math.Inf(-1)}
		for _, off := range [...]float64{-0.12, 0, 0.12} {
			// A longer period leaves less for the delay: the middle of all waits is known.
			delay := max(w.parts.Delay+float64(0.5*(w.parts.Loop-period))+float64(off*period), 0)
			if h := w.fitted(waited{period: period, delay: delay, wander: roughWander, soft: 0.01}); h.fit > best.fit {
				best = h
			}
		}
		row = append(row, best)
	}
	var found []waited
	for i := range row {
		if (i == 0 || row[i].fit >= row[i-1].fit) && (i+1 == len(row) || row[i].fit > row[i+1].fit) {
			found = append(found, row[i])
		}
	}
	slices.SortStableFunc(found, byFit)
	for i := range found {
		if found[0].fit-found[i].fit > 20 || i == 4 {
			found = found[:i]
			break
		}
	}
	found = append(found, w.locked(from, to)...)
	for i := range found {
		found[i] = w.climb(found[i])
	}
	slices.SortStableFunc(found, byFit)
	var kept []waited
	for _, h := range found {
		known := slices.ContainsFunc(kept, func(k waited) bool { return math.Abs(h.period-k.period) < 0.5*w.step(k.period)*k.period })
		if !known {
			kept = append(kept, h)
		}
	}
	return kept
}

// byFit puts the better explanation first.
func byFit(a, b waited) int { return cmp.Compare(b.fit, a.fit) }

// mostLocked is over how many frames at most the turns of a loop whose clock sends the frames too are
// taken to come back to the same place. Longer, they are hardly told from turns that do not.
const mostLocked = 3

// locked returns the explanations by turns that stand in a small ratio to the frames, as where one clock
// gives both: they meet the frames at few phases, so that the waits are not spread over as much as
// the turn and the frame together, and the period may be up to twice as long as that says. From and to
// are between what it is looked for else.
func (w *waiting) locked(from, to float64) (found []waited) {
	best := math.Inf(-1)
	for frames := 2; frames <= mostLocked; frames++ {
		span := float64(frames) * w.frame
		for turns := int(math.Ceil(span / (2 * to))); float64(turns) < span/from; turns++ {
			if turns%frames == 0 {
				continue // one for each frame, or several: no wait tells those apart
			}
			h := w.lockedAt(span / float64(turns))
			best = max(best, h.fit)
			found = append(found, h)
		}
	}
	slices.SortStableFunc(found, byFit)
	found = slices.DeleteFunc(found, func(h waited) bool { return h.fit < best-10 })
	return found[:min(len(found), 4)]
}

// lockedAt returns the best explanation by a period that is locked to the frames.
func (w *waiting) lockedAt(period float64) waited {
	best := waited{fit: math.Inf(-1)}
	from := max(w.parts.Delay-float64(0.5*period), 0)
	for k := range 12 {
		h := w.fitted(waited{period: period, delay: from + float64(float64(k)/12*period), wander: 0.001, soft: 0.01})
		if h.fit > best.fit {
			best = h
		}
	}
	return best
}

// waitWanders are the wanders that are tried.
var waitWanders = []float64{0.001, 0.002, 0.004, 0.007, 0.01, 0.014, 0.018, 0.023, 0.03, 0.04, 0.055, 0.08}

// climb refines an explanation.
func (w *waiting) climb(best waited) waited {
	better := func(h waited) bool {
		if h = w.fitted(h); h.fit > best.fit {
			best = h
			return true
		}
		return false
	}
	step := w.step(best.period)
	for round := range 2 {
		if round > 0 {
			step /= 4
		}
		for _, wander := range waitWanders {
			h := best
			h.wander = wander
			better(h)
		}
		for _, soft := range [...]float64{0.01, 0.03, 0.07} {
			h := best
			h.soft = soft
			better(h)
		}
		for size := 0.1; size > 0.01; size /= 2 {
			for _, by := range [...]float64{-size, size} {
				for range 4 {
					h := best
					h.delay += by * best.period
					if !better(h) {
						break
					}
				}
			}
		}
		for size := step; size > 0.05*step; size /= 2 {
			for _, by := range [...]float64{-size, size} {
				h := best
				h.period *= 1 + by
				better(h)
			}
		}
	}
	return best
}

// likely returns the logarithm of the likelihood of a period, with each of the wanders as likely
// as the period makes it, against that of h.
func (w *waiting) likely(h waited, period float64, wanders []float64) float64 {
	sum, best := 0.0, h.fit
	for _, wander := range wanders {
		h.period, h.wander = period, wander
		sum += portable.Exp(w.likelihood(&h, false) - best)
	}
	return portable.Log(max(sum, 1e-300))
}

// wanders returns those that explain the waits not far worse than the best.
func (w *waiting) wanders(best waited) (some []float64) {
	for _, wander := range waitWanders {
		h := best
		h.wander = wander
		if best.fit-w.fitted(h).fit < 6 {
			some = append(some, wander)
		}
	}
	return some
}

// within returns the interval that holds 99 % of the likelihood of the period; narrow is false
// where it has no end within a few percent.
func (w *waiting) within(best waited) (i Interval, narrow bool) {
	wanders := w.wanders(best)
	most := w.likely(best, best.period, wanders)
	// How far it takes for the likelihood to drop tells how finely to look.
	reach := func(sign float64) float64 {
		size := 3e-5
		for size < 0.05 && most-w.likely(best, best.period*(1+float64(sign*size)), wanders) < 1.5 {
			size *= 1.6
		}
		return size
	}
	step := max(reach(-1), reach(1)) / 4
	if step > 0.01 {
		return i, false
	}
	var shares []float64
	var periods []float64
	add := func(sign float64, first int) {
		for k := first; k < 60; k++ {
			period := best.period * (1 + float64(sign*float64(k)*step))
			fit := w.likely(best, period, wanders)
			periods, shares = append(periods, period), append(shares, portable.Exp(fit-most))
			if most-fit > 8 {
				return
			}
		}
	}
	add(-1, 1)
	slices.Reverse(periods)
	slices.Reverse(shares)
	add(1, 0)
	whole := 0.0
	for _, s := range shares {
		whole += s
	}
	at := func(share float64) float64 {
		sum := 0.0
		for k, s := range shares {
			if sum+s >= share*whole {
				return periods[k] + float64(best.period*step*((share*whole-sum)/s-0.5))
			}
			sum += s
		}
		return periods[len(periods)-1]
	}
	return Interval{at(0.005), at(0.995)}, true
}
