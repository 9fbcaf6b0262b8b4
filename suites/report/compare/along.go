package compare

import (
	"fmt"
	"math"

	"hilrig/plant"
	"hilrig/rig/signal"
	"hilrig/suites/record"
)

// along holds the commands of both records against each other along each case in which both
// played the same, and notes what no check tells of. Each bin is held against the envelope of the
// other's bins about it, as far as the board's phase reaches, widened by what sampling leaves open of
// commands, a step of the commands in each, and what the pulses are read as. Where what is played moves, see moving.go.
func (c *comparer) along() {
	told := map[Place]bool{}
	for i := range c.pairs {
		if c.pairs[i].kind != Same {
			told[c.pairs[i].at] = true
		}
	}
	largest := c.largestShift()
	for _, k := range c.cases {
		a, b := c.a.Alongs[k.a], c.b.Alongs[k.b]
		if a == nil || b == nil || a.Stimulus == "" || a.Stimulus != b.Stimulus || a.BinNS != b.BinNS || a.BinNS <= 0 {
			continue
		}
		c.out.Alongs++
		if told[k.a] {
			continue
		}
		reading := Reading{Shift: unknownReading * largest / 100}
		if r := c.readingAt(k.a, ""); !math.IsNaN(r.Shift) {
			reading = r
		}
		e := envelope{
			bins: int(math.Ceil((c.phase+c.late)*1e6/float64(a.BinNS))) + 1,
			open: 2*c.known.CommandStep + reading.Shift + reading.Throttle + c.grown*largest/100,
		}
		if d := c.worst(&e, a, b); d != nil {
			c.note(&k, a, d)
		}
	}
}

// largestShift returns the largest shift that was measured before, in % of range.
func (c *comparer) largestShift() (most float64) {
	for i := range c.pairs {
		if p := &c.pairs[i]; p.both() && p.a.Unit == "%" && p.a.Statistics != nil {
			most = max(most, math.Abs(*p.a.Estimate))
		}
	}
	return most
}

// note lists commands of a case that differ.
func (c *comparer) note(k *caseOfBoth, a *record.Along, d *apart) {
	c.out.Counts[Unasked]++
	c.out.Changes = append(c.out.Changes, Change{
		Kind: Unasked, Suite: k.suite, Case: k.title, Motor: d.motor.String(), Unit: "%",
		Places: [2]Place{k.a, k.b}, AtNS: a.StartNS + int64(d.bin)*a.BinNS,
		Before: record.Number(d.before * 100), After: record.Number(d.after * 100), Counts: record.Number(d.open * 100),
		Why: fmt.Sprintf("%s stood otherwise in %d bins of %s, first %s after the case began, and no check of the case tells of it",
			d.motor, d.bins, signal.Time(a.BinNS).Short(), (signal.Time(d.first) * signal.Time(a.BinNS)).Short()),
	})
}

// envelope is how bins are held against each other.
type envelope struct {
	bins int     // to either side
	open float64 // share of range, without what sampling leaves open
}

// apart is where two runs' commands stand farthest apart.
type apart struct {
	motor         plant.Wheel
	bin, first    int // the worst and the first
	bins          int // how many there are
	before, after float64
	open, beyond  float64
}

// worst returns the motor and the bin in which the commands stand farthest beyond each other's envelope;
// nil where none does for longer than the board's phase. What is over within it may be a turn of the loop that fell
// between two inputs which changed together, and is of either board.
func (c *comparer) worst(e *envelope, a, b *record.Along) (found *apart) {
	for w := range plant.Wheels {
		before, after := &a.Motors[w], &b.Motors[w]
		open := e.open + before.Uncertainty + after.Uncertainty
		d := apart{motor: plant.Wheel(w), first: -1, open: open}
		lasts := 0
		for i := range min(len(before.Mean), len(after.Mean)) {
			was, is := e.apart(before, after, i)
			beyond := math.Abs(is-was) - open
			if beyond > 0 {
				beyond -= c.moving(e, a, b, plant.Wheel(w), i)
			}
			if !(beyond > 0) {
				lasts = 0
				continue
			}
			if lasts++; lasts <= e.bins {
				continue
			}
			if d.first < 0 {
				d.first = i - e.bins
			}
			d.bins++
			if beyond > d.beyond {
				d.bin, d.beyond, d.before, d.after = i, beyond, was, is
			}
		}
		if d.first >= 0 {
			d.bins += e.bins
			if found == nil || d.beyond > found.beyond {
				found = &d
			}
		}
	}
	return found
}

// apart returns where a bin reaches farthest beyond the envelope of the other's: that end of the envelope, and the bin's
// own, in the order of before and after. They are the same within it, and no numbers where one of the bins has no command.
func (e *envelope) apart(before, after *record.Commands, i int) (was, is float64) {
	was, is = e.farthest(before, after, i)
	if now, then := e.farthest(after, before, i); math.Abs(now-then) > math.Abs(is-was) {
		return then, now
	}
	return was, is
}

// farthest returns the end of the envelope of one run's bins about one that the other's bin reaches farthest beyond, and that
// of the bin.
func (e *envelope) farthest(of, other *record.Commands, i int) (end, reached float64) {
	low, high := math.Inf(1), math.Inf(-1)
	for j := max(i-e.bins, 0); j <= min(i+e.bins, len(of.Mean)-1); j++ {
		if !math.IsNaN(of.Low[j]) {
			low, high = min(low, of.Low[j]), max(high, of.High[j])
		}
	}
	switch above, below := other.High[i]-high, low-other.Low[i]; {
	case math.IsNaN(of.Low[i]) || math.IsNaN(other.Low[i]):
		return math.NaN(), math.NaN()
	case above > 0 && above >= below:
		return high, other.High[i]
	case below > 0:
		return low, other.Low[i]
	}
	return low, low
}
