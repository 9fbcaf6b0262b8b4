package file

import (
	"fmt"

	"hilrig/rig/signal"
)

const (
	// MostCaseTime is how long a case may play, all its repeats and comparisons included.
	// What a case takes in memory goes with it. Spare trials and further tries of a case
	// that the rig's own timing spoilt do not count.
	MostCaseTime = 2 * 60 * 60 * signal.Second
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

// Plays returns how often a case is played: its repeats, each with the shift, without it and
// without a board where it compares.
func (c *Case) Plays() int {
	plays := max(1, c.Repeat)
	if c.Compare {
		plays *= 3
	}
	return plays
}

// Longest returns how long the steps of a case take at most in one play, where grid is the
// longest frame of the bench's serial sensors.
func (c *Case) Longest(grid signal.Time) signal.Time {
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

// lengths reports cases that play for longer than any may, once for all variants.
func (p *player) lengths() {
	grid := p.bench.Grid()
	for i := range p.suite.Cases {
		c := &p.suite.Cases[i]
		plays := c.Plays()
		once := c.Longest(grid)
		all := signal.Time(plays) * once
		if all <= MostCaseTime {
			continue
		}
		what, remedy := "", "shorten its steps, or split it into several cases"
		if plays > 1 {
			what, remedy = fmt.Sprintf(", %d plays of %s", plays, minutes(once)), "shorten its steps, repeat it less often, or split it into several cases"
		}
		q := Problem{Place: c.Place, Value: minutes(all), Remedy: remedy,
			Message: fmt.Sprintf("case %q takes %s%s, and no case may take more than %s", brief(c.Name), minutes(all), what, minutes(MostCaseTime))}
		p.report(q)
	}
}

// minutes writes a long time.
func minutes(t signal.Time) string {
	if t < 60*signal.Second {
		return span(t)
	}
	return number(t, 60*signal.Second) + " min"
}
