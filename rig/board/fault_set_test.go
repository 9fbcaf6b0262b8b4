package board

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
)

// More faults than a machine word has bits are still told apart, the 33rd and the 65th too.
func TestASetHoldsEveryFaultApart(t *testing.T) {
	var all faultSet
	for i := range math.MaxUint8 + 1 {
		f, one := fault(i), faultSet{}.with(fault(i))
		assert.False(t, all.has(f), "fault %d before it is put in", i)
		all = all.with(f)
		for j := range math.MaxUint8 + 1 {
			assert.Equal(t, i == j, one.has(fault(j)), "fault %d in the set of %d", j, i)
			assert.Equal(t, j <= i, all.has(fault(j)), "fault %d in the set of 0 to %d", j, i)
		}
	}
}
