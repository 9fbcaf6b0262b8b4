//go:build !linux

package raspberry

import "hilrig/rig/raspberry/chardev"

// AskKernel knows nothing.
func AskKernel([]int) (map[int]string, error) { return nil, chardev.ErrNoCharDevice }
