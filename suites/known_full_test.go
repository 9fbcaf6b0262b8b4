//go:build full

package suites

func init() { fewSeeds, namedChanges, schoolsApart, lateMotors, slowTrials = 200, 3, 1, 3, 2 }
