package file

import (
	"fmt"
	"slices"

	"hilrig/assertions"
	"hilrig/rig/signal"
	"hilrig/rig/trace"
	"hilrig/stimulus/wire"
	"hilrig/suites/language"
)

const (
	// MostCaseTime is how long a case may play, all its repeats and comparisons included.
	// What a case takes in memory goes with it. Spare trials and further tries of a case
	// that the rig's own timing invalidated do not count.
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

// Grid returns the longest frame of the bench's serial sensors, and of its slowest wire where they send on request alone.
func (b *Bench) Grid() signal.Time {
	var longest signal.Time
	if b != nil {
		for _, f := range b.Wiring.Frames {
			longest = max(longest, f.Period)
		}
		if longest == 0 {
			longest = b.SlowestWire()
		}
	}
	return longest
}

// OnRequest says whether the board asks for each frame that carries a channel.
func (b *Bench) OnRequest(c trace.Channel) bool {
	for i := range b.Wiring.Frames {
		f := &b.Wiring.Frames[i]
		if len(f.Request) > 0 && slices.ContainsFunc(f.Carrying(), func(x *wire.Field) bool { return carries(x.Channel, c) }) {
			return true
		}
	}
	return false
}

// carries says whether what a field names tells a channel: the yaw rate is told by a heading, too.
func carries(named string, c trace.Channel) bool {
	return named == c.String() || c == trace.YawRate && named == trace.Heading.String()
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
			what, remedy = fmt.Sprintf(", %d runs of %s", runs, span(once)), "shorten its steps, repeat it less often, or split it into several cases"
		}
		q := language.Problem{Place: c.Place, Value: span(all), Remedy: remedy,
			Message: fmt.Sprintf("case %q takes %s%s, and no case may take more than %s", language.Brief(c.Name), span(all), what, span(MostCaseTime))}
		p.report(q)
	}
}

// memory reports a case that takes too much memory although it is not too long.
func (p *suiteChecker) memory(c *Case) {
	if m := c.Memory(p.bench); m > MostCaseMemory {
		p.report(language.Problem{Place: c.Place, Value: Megabytes(m), Remedy: "let its checks read fewer or shorter steps, or split it into several cases",
			Message: fmt.Sprintf("case %q takes %s and about %s of memory, and no case may take more than %s", language.Brief(c.Name), span(c.Duration(p.bench.Grid())), Megabytes(m), Megabytes(MostCaseMemory))})
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
	return fmt.Sprintf("longest case %s, about %s of memory", span(most), Megabytes(memory))
}

const (
	// MostCaseMemory is what a case may take in memory, in bytes.
	MostCaseMemory = 300e6
	// baseMemory is what the program takes besides, with what a check reads at a time.
	baseMemory = 80e6
	// Of a case that is kept as it is: a row of all columns, a command frame, a pulse or frame
	// that was sent.
	rowBytes, frameBytes, sentBytes = 152, 32, 56
	// Of a case that is folded: a command frame or what was sent; a row of a channel that
	// moves; a row that a check reads in closed loop. Measured on simulated benches, and
	// rounded up.
	foldedBytes, movingBytes, closedRowBytes = 8, 9, 75
	// usualMotorRate is how often commands come where the bench does not say, Hz.
	usualMotorRate = 1000.0 / 3
)

// Memory returns about how many bytes the program takes while it plays and judges the case on a
// bench whose tick is 1 ms; nil stands for the usual bench.
func (c *Case) Memory(b *Bench) int64 {
	seconds := c.Duration(b.Grid()).Seconds()
	frames, sent := 4*usualMotorRate, 0.0
	if b != nil {
		if b.MotorRate > 0 {
			frames = 4 * b.MotorRate
		}
		periods := []signal.Time{b.Wiring.Steer.Frame, b.Wiring.Throttle.Frame, b.Wiring.Gain.Frame}
		for i := range b.Wiring.Frames {
			periods = append(periods, b.Wiring.Frames[i].Period)
		}
		for _, period := range periods {
			if period > 0 {
				sent += 1 / period.Seconds()
			}
		}
	}
	if c.Duration(b.Grid()) <= FoldAfter {
		perSecond := float64(frameBytes*frames) + float64(sentBytes*sent) + 1000*rowBytes
		return int64(baseMemory + float64(seconds*perSecond))
	}
	rows := 1000 * closedRowBytes * c.read(b).Seconds()
	if !c.Closed {
		rows = 1000 * movingBytes * c.moving(b).Seconds()
	}
	return int64(baseMemory + float64(seconds*foldedBytes*(frames+sent)) + rows)
}

// moving returns for how long channels move in a case, all of them and all runs together.
func (c *Case) moving(b *Bench) (moving signal.Time) {
	for i := range c.Steps {
		s := &c.Steps[i]
		channels := len(s.Shapes)
		if s.Sweep != nil {
			channels++
		}
		one := Case{Steps: c.Steps[i : i+1]}
		moving += signal.Time(channels*c.Runs()) * one.LongestRun(b.Grid())
	}
	return moving
}

// read returns of how much of a case's time, all its runs together, checks read the rows.
func (c *Case) read(b *Bench) signal.Time {
	var steps []assertions.Step
	at := signal.Time(0)
	for i := range c.Steps {
		s := &c.Steps[i]
		one := Case{Steps: c.Steps[i : i+1]}
		to := at + one.LongestRun(b.Grid())
		steps = append(steps, assertions.Step{Name: s.Name, Baseline: s.Baseline, Applied: at, From: at + s.Settle, To: to})
		at = to
	}
	checks := make([]assertions.Check, len(c.Expect))
	for i := range c.Expect {
		checks[i] = c.Expect[i].Check
	}
	var read signal.Time
	for _, span := range assertions.RowsRead(checks, steps) {
		read += max(0, min(span.To, at)-max(span.From, 0))
	}
	return read * signal.Time(c.Runs())
}
