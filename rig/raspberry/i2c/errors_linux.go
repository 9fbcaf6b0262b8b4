package i2c

import "syscall"

// The kernel's errors where nobody acknowledges.
const (
	enxio     = syscall.ENXIO
	eremoteio = syscall.EREMOTEIO
)
