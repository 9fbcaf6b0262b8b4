package chardev

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"

	"hilrig/rig/raspberry/timing"
	"hilrig/rig/signal"
)

// Whatever ticks are left out, a bench takes the edges: none is out of order, and none
// repeats its line's level.
func TestATrialsEdgesCanBePlayed(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		rate := rapid.Float64Range(1, 200e3).Draw(t, "rate")
		var source timing.Edges = &bursts{period: 1e9 / rate}
		lines := 1
		if rapid.Bool().Draw(t, "vehicle") {
			v, layout, _ := newVehicle(rate)
			source, lines = v, len(layout.Lines)-1
		}
		from := signal.Time(3_000_000)
		source.Begin(from)
		planned := make([]bool, lines)
		for range rapid.IntRange(1, 60).Draw(t, "ticks") {
			edges := source.Until(nil, from+timing.Tick)
			last := from
			from += timing.Tick
			if rapid.IntRange(0, 4).Draw(t, "skip") == 0 {
				source.Undo(edges)
				continue
			}
			for _, e := range edges {
				if e.At < last || e.At >= from || planned[e.Line] == e.Level {
					t.Fatalf("edge at %v on line %d to %t in the tick that ends at %v, the line at %t, an edge at %v before", e.At, e.Line, e.Level, from, planned[e.Line], last)
				}
				planned[e.Line], last = e.Level, e.At
			}
		}
	})
}

// A line over a jumper changes as often as was asked, and rests where it is fast.
func TestBurstsRest(t *testing.T) {
	tests := []struct {
		name  string
		rate  float64
		edges int // in 100 ms
	}{
		{"slow", 100, 10},
		{"as fast as goes without", 2000, 200},
		{"fast", 10e3, 10 * 96},
		{"faster", 100e3, 10 * 951},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			b := &bursts{period: 1e9 / tt.rate}
			b.Begin(0)
			edges := b.Until(nil, 100*signal.Millisecond)
			assert.InDelta(t, tt.edges, len(edges), 1)
			last, longest := edges[0].At, signal.Time(0)
			for _, e := range edges[1:] {
				longest, last = max(longest, e.At-last), e.At
			}
			assert.GreaterOrEqual(t, longest, 2*burstRest)
		})
	}
}

// A receiver's channels change together, a hundred pulses a second.
func TestAVehicleHasAReceiver(t *testing.T) {
	v, layout, pins := newVehicle(0)
	assert.Len(t, pins, len(layout.Lines))
	v.Begin(0)
	edges := v.Until(nil, 100*signal.Millisecond)
	assert.Len(t, edges, 2*10*receiverChannels)
	for i, e := range edges {
		assert.Equal(t, edges[i-i%receiverChannels].At, e.At)
		assert.Equal(t, i/receiverChannels%2 == 0, e.Level)
	}
	assert.Equal(t, receiverPulse, edges[3].At-edges[0].At)
}
