//go:build !linux

package chardev

import "context"

// Run fails.
func (t Trial) Run(context.Context) (*Measurement, error) { return nil, ErrNoCharDevice }
