//go:build !linux

package chardev

import "context"

// Run fails.
func (t Trial) Run(context.Context) (*Kept, error) { return nil, ErrNoCharDevice }
