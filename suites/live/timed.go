package live

import (
	"context"

	"hilrig/rig/raspberry"
	"hilrig/rig/raspberry/realtime"
	"hilrig/rig/raspberry/registers"
	"hilrig/rig/signal"
)

// Timed is what a timing measured, and on what.
type Timed struct {
	On    string // "the registers of a Pi 4B"
	NoPi  bool   // it says nothing of a Pi
	Seat  realtime.Seat
	Asked float64             // edges a second
	Kept  *registers.Kept     // on a bank; nil: by the character device
	Char  *raspberry.CharKept // by the character device; nil: on a bank
}

// Memory says whether a word in memory stood for the pins.
func (t *Timed) Memory() bool { return t.NoPi && t.Kept != nil }

// Length returns how long it was measured.
func (t *Timed) Length() signal.Time {
	if t.Char != nil {
		return t.Char.For
	}
	return t.Kept.For
}

// Follows returns what can be captured and played.
func (t *Timed) Follows() ([]registers.MotorFit, registers.EncoderFit) {
	if t.Char != nil {
		return t.Char.Motors(), t.Char.Encoders()
	}
	return t.Kept.Motors(), t.Kept.Encoders()
}

// Refused returns what the loop was not granted.
func (t *Timed) Refused() []string {
	if t.Char != nil {
		return t.Char.Refused
	}
	return t.Kept.Refused
}

// TimingTrial is a way to measure.
type TimingTrial interface {
	// Run measures and notes it.
	Run(ctx context.Context, t *Timed, progress func(done signal.Time)) error
	// Link is what joins two pins of which one will be driven; nil: none will.
	Link() *raspberry.Link
}

// bankTrial measures on a bank.
type bankTrial struct{ registers.TimingTrial }

func (b bankTrial) Run(ctx context.Context, t *Timed, progress func(done signal.Time)) (err error) {
	b.Progress = progress
	t.Kept, err = b.TimingTrial.Run(ctx)
	return err
}

func (b bankTrial) Link() *raspberry.Link { return nil }

// charTrial measures by the character device.
type charTrial struct{ raspberry.CharTrial }

func (d charTrial) Run(ctx context.Context, t *Timed, progress func(done signal.Time)) (err error) {
	d.Progress = progress
	t.Char, err = d.CharTrial.Run(ctx)
	return err
}

func (d charTrial) Link() *raspberry.Link { return d.Jumper }
