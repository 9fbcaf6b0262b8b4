package file

import (
	"hilrig/assertions"
	"hilrig/rig/signal"
)

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
		for i := range b.Wiring.Frames {
			if p := b.Wiring.Frames[i].Period; p > 0 {
				sent += 1 / p.Seconds()
			}
		}
		for _, frame := range []signal.Time{b.Wiring.Steer.Frame, b.Wiring.Throttle.Frame, b.Wiring.Gain.Frame} {
			if frame > 0 {
				sent += 1 / frame.Seconds()
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
