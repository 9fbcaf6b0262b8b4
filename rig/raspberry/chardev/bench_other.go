//go:build !linux

package chardev

import (
	"errors"

	"hilrig/rig/raspberry/header"
)

// ErrNoCharDevice says that this system has no GPIO character device.
var ErrNoCharDevice = errors.New("the GPIO character device is Linux's; use this on a Raspberry Pi")

// Bench is there on Linux alone.
type Bench struct{ *header.Bench }

// New fails.
func New(string, header.Settings) (*Bench, error) { return nil, ErrNoCharDevice }

// OpenLines fails.
func OpenLines(string) (header.Lines, error) { return nil, ErrNoCharDevice }

// HeaderChip fails.
func HeaderChip() (string, error) { return "", ErrNoCharDevice }
