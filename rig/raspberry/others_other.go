//go:build !linux

package raspberry

// AskKernel knows nothing.
func AskKernel([]int) (map[int]string, error) { return nil, errNoCharDevice }
