package report

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/suites/record"
)

func TestClosestIsMeasuredByItsLimit(t *testing.T) {
	n := record.Number
	g := Group{Checks: []*record.Check{
		{Name: "far", Verdict: record.Pass, Quantity: "x", Estimate: n(0), Unit: "%", Low: n(6), High: n(7), LimitLow: n(1)},
		{Name: "near", Verdict: record.Pass, Quantity: "x", Estimate: n(0), Unit: "deg/s", Low: n(-9), High: n(9.5), LimitLow: n(-10), LimitHigh: n(10)},
		{Name: "failed", Verdict: record.Fail, Quantity: "x", Estimate: n(0), Unit: "%", Low: n(0.9), High: n(0.95), LimitLow: n(1)},
	}}
	nearest, left := g.Closest()
	require.NotNil(t, nearest)
	assert.Equal(t, "near", nearest.Name)
	assert.InDelta(t, 0.5, left, 1e-12)
}
