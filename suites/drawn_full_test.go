//go:build full

package suites

// Drawn says whether the i-th row of a table is played: each.
func Drawn(int, int) bool { return true }
