package measure

import (
	"math"

	"hilrig/plant/portable"
)

// Parts are what a response is made of, s: a change first waits for what comes
// before the loop and after it at every time alike (filters, the input's own
// reception), then for the loop's next turn, then for the next output frame,
// which is known and left out here.
type Parts struct {
	Delay       float64  // the least that passes before an output frame can carry the change, at least 0
	DelayWithin Interval // with 95 % confidence
	Loop        float64  // over which the wait for the loop is spread evenly: its period
	LoopWithin  Interval
}

// SeparateResponse works out the parts of a response from a series of trials.
// The first frame that carries trial i's change began after[i] later than the
// change, the frame before it before[i] later (negative where it was earlier):
// somewhere between, the change had reached the output. At least ten trials are needed; ok
// is false with fewer, and where the trials do not hang together.
//
// The likelihood is that of interval-censored values that are spread evenly from
// Delay to Delay + Loop; ends of the intervals are where it has dropped by 2.
func SeparateResponse(before, after []float64) (p Parts, ok bool) {
	if len(before) != len(after) || len(before) < 10 {
		return p, false
	}
	firstAfter, lastBefore, longest := math.Inf(1), math.Inf(-1), 0.0
	for i := range before {
		if !finite(before[i]) || !finite(after[i]) || !(after[i] > before[i]) {
			return p, false
		}
		firstAfter, lastBefore = min(firstAfter, after[i]), max(lastBefore, before[i])
		longest = max(longest, after[i]-before[i])
	}
	// The delay is less than the shortest answer, and delay and loop together more
	// than the longest time at which there was none.
	most := max(lastBefore-firstAfter, 0) + 2*longest
	high := max(firstAfter, 0)
	low := max(firstAfter-longest, 0) // no change is carried before it is made
	shortest := most / 1000
	least, widest := shortest, most
	for range 3 {
		p = scan(before, after, low, high, least, widest)
		low, high = widened(p.DelayWithin, low, high)
		least, widest = widened(p.LoopWithin, least, widest)
	}
	return p, true
}

// cells is how many values of each part are tried.
const cells = 48

// scan finds the most likely parts in a range of each.
func scan(before, after []float64, low, high, least, widest float64) Parts {
	var fits [cells + 1][cells + 1]float64
	best := math.Inf(-1)
	p := Parts{DelayWithin: RangeOf(), LoopWithin: RangeOf()}
	value := func(i int, from, to float64) float64 { return from + float64(float64(i)/cells*(to-from)) }
	for i := range fits {
		delay := value(i, low, high)
		for j := range fits[i] {
			loop := value(j, least, widest)
			fits[i][j] = evenly(before, after, delay, loop)
			if fits[i][j] > best {
				best, p.Delay, p.Loop = fits[i][j], delay, loop
			}
		}
	}
	for i := range fits {
		for j, fit := range fits[i] {
			if best-fit < 2 {
				p.DelayWithin.Include(value(i, low, high))
				p.LoopWithin.Include(value(j, least, widest))
			}
		}
	}
	return p
}

// evenly returns the logarithm of the likelihood of censored values that are
// spread evenly from delay to delay+loop, but for one in a thousand.
func evenly(before, after []float64, delay, loop float64) float64 {
	sum, product := 0.0, 1.0
	for i := range before {
		shared := min(after[i], delay+loop) - max(before[i], delay)
		product *= max(shared, 0)/loop + 1e-3
		if product < 1e-200 {
			sum += portable.Log(product)
			product = 1
		}
	}
	return sum + portable.Log(product)
}

// widened returns a range that i lies well in, within low to high.
func widened(i Interval, low, high float64) (float64, float64) {
	margin := max(i.High-i.Low, (high-low)/cells) / 2
	return max(low, i.Low-margin), min(high, i.High+margin)
}
