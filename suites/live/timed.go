package live

import (
	"context"

	"hilrig/rig/raspberry/chardev"
	"hilrig/rig/raspberry/realtime"
	"hilrig/rig/raspberry/registers"
	"hilrig/rig/raspberry/timing"
	"hilrig/rig/signal"
)

// Timed is what a timing measured, and on what.
type Timed struct {
	On         string // "the registers of a Pi 4B"
	NoPi       bool   // it says nothing of a Pi
	Scheduling realtime.Scheduling
	Asked      float64                // edges a second
	Measured   *registers.Measurement // on a bank; nil where it was by the character device
	Char       *chardev.Measurement   // by the character device; nil where it was on a bank
}

// Memory says whether a word in memory stood for the pins.
func (t *Timed) Memory() bool { return t.NoPi && t.Measured != nil }

// Common is what a timing shows on a bank and by the character device alike.
type Common struct {
	*timing.Measurement
	// What can be captured and played.
	Motors   []timing.MotorSupport
	Encoders timing.EncoderSupport
}

// Common returns what was measured either way.
func (t *Timed) Common() Common {
	if k := t.Char; k != nil {
		return Common{&k.Measurement, k.Motors(), k.Encoders()}
	}
	k := t.Measured
	return Common{&k.Measurement, k.Motors(), k.Encoders()}
}

// PlannedHz returns the planned edges a second.
func (c *Common) PlannedHz() float64 { return float64(c.Planned) / c.For.Seconds() }

// ReadsHz returns how often a second a bank was read.
func ReadsHz(k *registers.Measurement) float64 { return float64(k.Reads) / k.For.Seconds() }

// TimingTrial is a way to measure.
type TimingTrial struct {
	// Run measures and notes it in what it was prepared for.
	Run func(ctx context.Context, progress func(done signal.Time)) error
	// Link is what joins two pins of which one will be driven; nil where none will.
	Link *chardev.Link
}
