package supervisor

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"hilrig/rig/decode"
	"hilrig/rig/signal"
)

// A pulse of 1260 us is 26 % and the limit 25 %: it trips where its stamps leave it no
// narrower than 1250 us, and does not where they do. Each end's lateness counts on its side.
func TestWatchBelievesNoMoreThanTheStamps(t *testing.T) {
	for _, tt := range []struct {
		name             string
		roseLate, fellBy uint32 // ns
		trips            bool
	}{
		{"exact", 0, 0, true},
		{"the end up to 9 us earlier", 0, 9_000, true},
		{"the end up to 11 us earlier", 0, 11_000, false},
		{"the beginning up to 11 us earlier, so that it is wider", 11_000, 0, true},
		{"both", 11_000, 11_000, false},
	} {
		t.Run(tt.name, func(t *testing.T) {
			w := over(t, servoMotor(decode.ServoPulse, false, false))
			w.look(nil, 5*ms)
			_, limit := w.look([]signal.Edge{
				{At: 10 * ms, Uncertainty: tt.roseLate, Line: 2, Level: true},
				{At: 10*ms + 1260*us, Uncertainty: tt.fellBy, Line: 2},
			}, 20*ms)
			assert.Equal(t, tt.trips, limit)
		})
	}
}
