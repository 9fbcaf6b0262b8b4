//go:build !linux

package i2c

import "syscall"

// The errors where nobody acknowledges: only Linux opens a bus.
const (
	enxio     = syscall.ENXIO
	eremoteio = syscall.ENXIO
)
