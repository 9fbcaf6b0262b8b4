//go:build linux && gpiovm

package chardev

import "hilrig/rig/raspberry/cdev"

// What the tests of what stands on this package need of a simulated chip.
var (
	Simulate = simulate
	Counted  = counted
)

// Device returns the path of the chip's device.
func (s *simulated) Device() string { return s.device }

// Infos returns what the kernel says of each line.
func (s *simulated) Infos() []cdev.LineInfo { return s.infos() }
