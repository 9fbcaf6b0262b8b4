//go:build !linux

package chardev

import (
	"errors"

	"hilrig/rig/raspberry/hostlines"
)

// ErrNoCharDevice says that this system has no GPIO character device.
var ErrNoCharDevice = errors.New("the GPIO character device is Linux's; use this on a Raspberry Pi")

// Bench is there on Linux alone.
type Bench struct{ *hostlines.Bench }

// New fails.
func New(string, hostlines.Settings) (*Bench, error) { return nil, ErrNoCharDevice }

// OpenLines fails.
func OpenLines(string) (hostlines.Lines, error) { return nil, ErrNoCharDevice }

// HeaderChip fails.
func HeaderChip() (string, error) { return "", ErrNoCharDevice }
