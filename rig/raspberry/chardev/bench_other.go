//go:build !linux

package chardev

import (
	"errors"

	"hilrig/rig"
	"hilrig/rig/raspberry/registers"
	"hilrig/rig/signal"
)

// ErrNoCharDevice says that this system has no GPIO character device.
var ErrNoCharDevice = errors.New("the GPIO character device is Linux's; use this on a Raspberry Pi")

// CharBench is there on Linux alone.
type CharBench struct{ rig.Bench }

// NewCharDevice fails.
func NewCharDevice(CharSettings) (*CharBench, error) { return nil, ErrNoCharDevice }

// Refused says nothing.
func (b *CharBench) Refused() []string { return nil }

// Exact says that not every edge is on its wire when it is due.
func (b *CharBench) Exact() bool { return false }

// ReadBack reads nothing.
func (b *CharBench) ReadBack(dst []signal.Edge) ([]signal.Edge, error) { return dst, nil }

// Samples says that nothing is read back.
func (b *CharBench) Samples(signal.Line) bool { return false }

// LateStretches appends nothing.
func (b *CharBench) LateStretches(dst []signal.LateStretch) []signal.LateStretch { return dst }

// Disturb fails.
func (b *CharBench) Disturb(signal.Port, signal.Disturber) error { return rig.ErrNoDisturbing }

// Timing knows nothing.
func (b *CharBench) Timing() CharTiming { return CharTiming{} }

// OpenCharLines fails.
func OpenCharLines(string) (registers.Lines, error) { return nil, ErrNoCharDevice }

// HeaderChip fails.
func HeaderChip() (string, error) { return "", ErrNoCharDevice }
