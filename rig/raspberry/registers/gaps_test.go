package registers

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"hilrig/rig/decode"
	"hilrig/rig/signal"
)

// An interrupt may not invalidate a servo pulse that the rig sends itself, and may not hide an edge of a
// shaft's encoder unawares.
func TestLinesOfAStandHaveTheirLongestGaps(t *testing.T) {
	var layout signal.Layout
	for _, role := range signal.StandRoles() {
		layout.Lines = append(layout.Lines, signal.Spec(role, signal.NoWheel))
	}
	for _, test := range []struct {
		formats  []decode.MotorKind
		throttle signal.Time
	}{
		{[]decode.MotorKind{decode.ServoPulse}, 200 * signal.Microsecond},
		{[]decode.MotorKind{decode.OneShot125}, 25 * signal.Microsecond},
		{[]decode.MotorKind{decode.DShot300}, 500},
		{nil, 5 * signal.Microsecond},
	} {
		for i, gap := range longestGaps(layout, test.formats) {
			want := 5 * signal.Microsecond
			if layout.Lines[i].Role == signal.ThrottleCommand {
				want = test.throttle
			}
			assert.Equal(t, want, gap, "%s, %v", layout.Lines[i].Name, test.formats)
		}
	}
}

// Of a loop that has gaps of 0.7 us as a rule, each sample would be told of on a line with short bits: the limit yields, and only what
// stands out is told. Another limit stays.
func TestALimitYieldsToASlowLoop(t *testing.T) {
	var s sampler
	s.limit(1, 500, true)
	s.limit(2, 200*us, false)
	s.allow(startUsual)
	assert.Zero(t, s.hidden(2000))
	for range 5000 {
		s.last = 700
		s.follow()
	}
	assert.InDelta(t, 1400, float64(s.leastLimit), 4)
	assert.Zero(t, s.hidden(1390))
	assert.EqualValues(t, 1, s.hidden(2500))
	assert.EqualValues(t, 3, s.hidden(201*us))
	for range 5000 {
		s.last = 180
		s.follow()
	}
	assert.EqualValues(t, 500, s.leastLimit, "a fast one keeps what is wanted")
	assert.EqualValues(t, 10_000, s.stamps.Count)
}
