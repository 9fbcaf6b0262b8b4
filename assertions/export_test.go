package assertions

import (
	"fmt"
	"slices"
)

// Branches are the situations of the split itself.
var Branches = Situations[:slices.Index(Situations, "at_the_limit")+1]

// Must returns what the result measured, and panics where that is nothing.
func (r Result) Must() Measurement {
	m, ok := r.Measurement()
	if !ok {
		panic(fmt.Sprintf("%s measured nothing: %s", r.Name, r.Why))
	}
	return m
}

// Coarsely is coarsely, for tests.
var Coarsely = coarsely
