//go:build full

package suites

func init() { fewSeeds, lateMotors, slowTrials = 200, 3, 2 }
