//go:build full

package suites

func init() { fewSeeds = 200 }
