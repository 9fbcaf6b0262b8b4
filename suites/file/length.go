package file

import (
	"fmt"

	"hilrig/rig/signal"
	"hilrig/suites/language"
)

const (
	// MostCaseTime is how long a case may play, all its repeats and comparisons included.
	// What a case takes in memory goes with it. Spare trials and further tries of a case
	// that the rig's own timing spoilt do not count.
	MostCaseTime = 2 * 60 * 60 * signal.Second
	// FoldAfter is how long a case plays, all its repeats and comparisons included, whose
	// traces are kept as they are; those of a longer one are folded.
	FoldAfter = 5 * 60 * signal.Second
	// leastTrialSpread is over how long the moments of trials are spread at least.
	leastTrialSpread = 50 * signal.Millisecond
)

// TrialSpread returns over how long the moments of trials are spread, evenly, where grid is
// the longest period of the bench's serial sensors.
func TrialSpread(grid signal.Time) signal.Time { return max(leastTrialSpread, 2*grid) }

// Grid returns the longest frame of the bench's serial sensors.
func (b *Bench) Grid() signal.Time {
	var longest signal.Time
	if b != nil {
		for _, f := range b.Wiring.Frames {
			longest = max(longest, f.Period)
		}
	}
	return longest
}

// Runs returns how often a case is run: its repeats, each with the shift, without it and
// without a board where it compares.
func (c *Case) Runs() int {
	runs := max(1, c.Repeat)
	if c.Compare {
		runs *= 3
	}
	return runs
}

// LongestRun returns how long the steps of a case take at most in one run, where grid is the
// longest frame of the bench's serial sensors.
func (c *Case) LongestRun(grid signal.Time) signal.Time {
	var length signal.Time
	for i := range c.Steps {
		s := &c.Steps[i]
		length += s.Settle
		if t := s.Trials; t != nil {
			length += signal.Time(t.Count)*(t.Interval+TrialSpread(grid)) + t.Interval
		} else {
			length += s.Observe
		}
	}
	return length
}

// Duration returns how long a case takes at most, all its runs together.
func (c *Case) Duration(grid signal.Time) signal.Time {
	return signal.Time(c.Runs()) * c.LongestRun(grid)
}

// lengths reports cases that play for longer than any may, once for all variants.
func (p *suiteChecker) lengths() {
	grid := p.bench.Grid()
	for i := range p.suite.Cases {
		c := &p.suite.Cases[i]
		runs, once, all := c.Runs(), c.LongestRun(grid), c.Duration(grid)
		if all <= MostCaseTime {
			p.memory(c)
			continue
		}
		what, remedy := "", "shorten its steps, or split it into several cases"
		if runs > 1 {
			what, remedy = fmt.Sprintf(", %d runs of %s", runs, minutes(once)), "shorten its steps, repeat it less often, or split it into several cases"
		}
		q := language.Problem{Place: c.Place, Value: minutes(all), Remedy: remedy,
			Message: fmt.Sprintf("case %q takes %s%s, and no case may take more than %s", language.Brief(c.Name), minutes(all), what, minutes(MostCaseTime))}
		p.report(q)
	}
}

// memory reports a case that takes too much memory although it is not too long.
func (p *suiteChecker) memory(c *Case) {
	if m := c.Memory(p.bench); m > MostCaseMemory {
		p.report(language.Problem{Place: c.Place, Value: Megabytes(m), Remedy: "let its checks read fewer or shorter steps, or split it into several cases",
			Message: fmt.Sprintf("case %q takes %s and about %s of memory, and no case may take more than %s", language.Brief(c.Name), minutes(c.Duration(p.bench.Grid())), Megabytes(m), Megabytes(MostCaseMemory))})
	}
}

// Megabytes writes a size in memory.
func Megabytes(bytes int64) string { return fmt.Sprintf("%d MB", (bytes+5e5)/1e6) }

// LongestOf returns in words how long the longest case of a suite takes, and the memory of the
// one that takes most; "" for a suite without cases.
func LongestOf(s *Suite, bench *Bench) string {
	var most signal.Time
	var memory int64
	for i := range s.Cases {
		c := &s.Cases[i]
		most, memory = max(most, c.Duration(bench.Grid())), max(memory, c.Memory(bench))
	}
	if most == 0 {
		return ""
	}
	return fmt.Sprintf("longest case %s, about %s of memory", minutes(most), Megabytes(memory))
}

// minutes writes a long time.
func minutes(t signal.Time) string {
	if t < 60*signal.Second {
		return number(t, signal.Second) + " s"
	}
	return number(t, 60*signal.Second) + " min"
}
