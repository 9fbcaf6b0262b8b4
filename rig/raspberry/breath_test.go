package raspberry

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig/signal"
)

// A breath waits until no edge is due, but not for ever.
func TestBreathsAreTakenWhereNoEdgeIsDue(t *testing.T) {
	const us = signal.Microsecond
	const encoder, pulse = 1, 2
	tests := []struct {
		name  string
		since signal.Time // the last breath
		due   signal.Time // from now
		line  uint32
		want  bool
	}{
		{"too early", 399 * us, 1000 * us, pulse, false},
		{"nothing due", 400 * us, 1000 * us, pulse, true},
		{"a pulse due", 400 * us, 60 * us, pulse, false},
		{"an encoder's edge due", 400 * us, 60 * us, encoder, false},
		{"put off, a pulse due", 900 * us, 60 * us, pulse, false},
		{"put off, an encoder's edge due", 900 * us, 60 * us, encoder, true},
		{"put off for long", 8000 * us, 60 * us, pulse, true},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			q := newRing[change](4)
			q.slot[0] = change{at: tt.since + tt.due, set: tt.line}
			q.tail.Store(1)
			b := breath{every: 400 * us, length: 40 * us, others: encoder}
			began := time.Now()
			got := b.due(tt.since, &player{queues: []*ring[change]{q}})
			assert.Equal(t, tt.want, got)
			if got {
				assert.GreaterOrEqual(t, time.Since(began), 40*time.Microsecond)
				assert.Equal(t, tt.since, b.drawn)
			}
		})
	}
}

func TestEncodersMayWaitForABreath(t *testing.T) {
	layout := signal.Layout{Lines: []signal.LineSpec{{Name: "steer"}, {Name: "front_left_a"}, {Name: "front_left_b"}, {Name: "motor_front_left", Direction: signal.Capture}}}
	m, err := NewBoarded(&follower{}, layout, Pins{3, 5, 7, 9})
	require.NoError(t, err)
	m.Breathe(signal.Millisecond, 50*signal.Microsecond)
	assert.EqualValues(t, 1<<5|1<<7, m.breath.others)
}
