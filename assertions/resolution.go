package assertions

import (
	"math"

	"hilrig/plant"
	"hilrig/rig/trace"
)

// resolution judges the steps in which commands follow a quantity that is
// swept slowly: the largest from one command to the next, of the motors that
// move at all. A command that is coarser than the sweep shows its steps.
func (b *branch) resolution() []Result {
	limit := *b.p.Resolution
	name := b.name("commands in steps of at most " + share(limit))
	if err := b.slowSweep(limit); err != nil {
		return []Result{unjudged(name, err)}
	}
	var worst Result
	moved := 0.0
	for _, w := range plant.Wheels {
		frames := b.e.frames(w, b.s)
		if len(frames) < fewest {
			return []Result{unjudged(name, b.e.few(w, b.s, len(frames)))}
		}
		low, high := math.Inf(1), math.Inf(-1)
		for _, f := range frames {
			low, high = min(low, f.Value), max(high, f.Value)
		}
		moved = max(moved, high-low)
		r := b.e.jumps(name, Corner(w.String()), w, limit, b.s)
		if !r.Measured() {
			return []Result{r}
		}
		r.measured.Quantity = "largest step of " + w.String()
		if worst.Name == "" || r.worse(&worst) {
			worst = r
		}
	}
	if moved < 8*limit && worst.Verdict == Pass {
		verdict := Undecided
		if b.s.Changed == trace.Throttle || b.p.splitFor(b.s) != nil {
			verdict = Fail
		}
		return []Result{unjudged(name, b.s.blockedAt(verdict, b.s.From, "no command moved by more than %s in the sweep, so that its steps cannot be seen", share(moved)))}
	}
	if worst.Verdict == Fail || worst.Verdict == Undecided && worst.Measured() {
		worst.Why += "; the sweep itself goes in smaller steps"
	}
	return []Result{worst}
}

// slowSweep reports a step in which nothing is swept, or the throttle so fast
// that its own steps would be taken for the board's.
func (b *branch) slowSweep(limit float64) error {
	if b.e.Trace == nil || !b.s.Swept && !b.s.Moving {
		return b.s.undecided("nothing is swept in this step; write sweep: {throttle: [20 %%, 80 %%]} and observe for some seconds")
	}
	last, n, most := 0.0, 0, 0.0
	for _, x := range b.e.Trace.SentBetween(trace.SentThrottle, b.s.Applied-longestPulse, b.s.To) {
		if x.End < b.s.From || x.End >= b.s.To {
			continue
		}
		if n > 0 {
			most = max(most, math.Abs(x.Value-last))
		}
		last = x.Value
		n++
	}
	if most > limit/2 {
		return b.s.undecided("the throttle itself goes in steps of %s; sweep slower, so that they are at most %s", share(most), share(limit/2))
	}
	return nil
}
