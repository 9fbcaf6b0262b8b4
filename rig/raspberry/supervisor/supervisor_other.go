//go:build !linux

package supervisor

import (
	"context"
	"errors"
)

var errLinux = errors.New("interlock: only on Linux")

// Run fails: nothing stands before the motors on this system.
func Run(Settings) (Ending, error) { return Ending{}, errLinux }

// Inside says whether this program was started by a supervisor.
func Inside() bool { return false }

// Join fails.
func Join(context.Context) (*Worker, error) { return nil, errLinux }
