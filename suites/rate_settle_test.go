package suites

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"hilrig/assertions/measure"
	"hilrig/rig/signal"
	"hilrig/stimulus/wire"
)

// A rate is held against where the response has the period: half of it is not taken.
func TestLoopRateAgreesWithTheResponse(t *testing.T) {
	around := measure.Interval{Low: 3.5e-3, High: 4.5e-3}
	none := measure.Interval{Low: 1e-5, High: 2e-4}
	for _, tt := range []struct {
		name   string
		rate   LoopRate
		likely measure.Interval
		agrees bool
	}{
		{"as the response has it", LoopRate{Rate: 250}, around, true},
		{"half", LoopRate{Rate: 125}, around, false},
		{"twice", LoopRate{Rate: 500}, around, false},
		{"undecided", LoopRate{Rate: 250, Why: "too little"}, around, false},
		{"paced, and nothing waited for but frames", LoopRate{Rate: 250, paced: true}, none, true},
		{"paced, and the loop waited for", LoopRate{Rate: 250, paced: true}, around, false},
		{"no trials of use", LoopRate{Rate: 250}, (*trials)(nil).likelyPeriod(), true},
	} {
		t.Run(tt.name, func(t *testing.T) { assert.Equal(t, tt.agrees, tt.rate.agrees(tt.likely)) })
	}
}

func TestWholePulse(t *testing.T) {
	p := &wire.Pulse{Low: signal.Millisecond, High: 2 * signal.Millisecond, LowValue: -0.5, HighValue: 0.5}
	assert.InDelta(t, 0.134, wholePulse(p, 0.1337), 1e-12)
	p.LowValue, p.HighValue = 0.5, -0.5
	assert.InDelta(t, 0.134, wholePulse(p, 0.1337), 1e-12)
	assert.InDelta(t, 0.1337, wholePulse(&wire.Pulse{}, 0.1337), 0, "there is no pulse")
}
