package live

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"hilrig/rig/raspberry/realtime"
	"hilrig/rig/signal"
)

// Of no spans there is neither a longest nor a quantile.
func TestAnEmptyHistogramHasNoNumbers(t *testing.T) {
	var none realtime.Histogram
	out := inJSON(&none)
	assert.Zero(t, out.Count)
	assert.Nil(t, out.MostS)
	for _, q := range out.Quantiles {
		assert.Nil(t, q.Within, "%g", q.Share)
	}
	none.Count, none.Most = 1, 3*signal.Microsecond
	assert.NotNil(t, inJSON(&none).MostS)
}
