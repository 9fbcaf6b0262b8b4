//go:build !race

package portable

// underRace says whether the race detector, which slows everything, is on.
const underRace = false
