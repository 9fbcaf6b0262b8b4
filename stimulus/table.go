package stimulus

import (
	"math"
	"sort"

	"hilrig/rig/signal"
)

// Table goes through points in straight lines, and stays at the first before it
// and at the last after it. Both slices have the same length, at least 1; the
// times rise. A drive log is played through tables, one a channel.
type Table struct {
	Times  []signal.Time
	Values []float64
}

// At returns the value at t.
func (p Table) At(t signal.Time) float64 {
	i := sort.Search(len(p.Times), func(i int) bool { return p.Times[i] > t })
	switch {
	case len(p.Times) == 0:
		return 0
	case i == 0:
		return p.Values[0]
	case i == len(p.Times):
		return p.Values[i-1]
	}
	share := float64(t-p.Times[i-1]) / float64(p.Times[i]-p.Times[i-1])
	return float64(p.Values[i-1]*(1-share)) + float64(p.Values[i]*share)
}

// Span returns the least and the greatest value that the table goes through.
func (p Table) Span() (least, most float64) {
	least, most = math.Inf(1), math.Inf(-1)
	for _, v := range p.Values {
		least, most = min(least, v), max(most, v)
	}
	return least, most
}
