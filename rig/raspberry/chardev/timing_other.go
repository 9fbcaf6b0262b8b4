//go:build !linux

package chardev

import "context"

// Run fails.
func (t CharTrial) Run(context.Context) (*CharKept, error) { return nil, ErrNoCharDevice }
