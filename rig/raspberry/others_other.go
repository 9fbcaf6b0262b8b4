//go:build !linux

package raspberry

// askKernel knows nothing.
func askKernel([]int) (map[int]string, error) { return nil, errNoCharDevice }
