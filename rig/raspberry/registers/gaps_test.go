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
		{[]decode.MotorKind{decode.DShot300}, 5 * signal.Microsecond},
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
