//go:build !linux

package raspberry

import "context"

// Run fails.
func (t CharTrial) Run(context.Context) (*CharKept, error) { return nil, errNoCharDevice }
