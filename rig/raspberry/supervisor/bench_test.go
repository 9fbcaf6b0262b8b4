package supervisor

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig/decode"
	"hilrig/rig/signal"
)

// pulses returns servo pulses of a width, every 5 ms from from on until to.
func pulses(line signal.Line, width, from, to signal.Time) (edges []signal.Edge) {
	for at := from; at+width < to; at += 5 * signal.Millisecond {
		edges = append(edges, signal.Edge{At: at, Line: line, Level: true}, signal.Edge{At: at + width, Line: line})
	}
	return edges
}

func TestWatchSeesSilenceAndTheLimit(t *testing.T) {
	const ms = signal.Millisecond
	var layout signal.Layout
	for _, w := range signal.Wheels {
		layout.Lines = append(layout.Lines, signal.Spec(signal.Motor, w))
	}
	oneWay := decode.Motor{Servo: decode.Servo{Idle: 1000 * signal.Microsecond, Full: 2000 * signal.Microsecond}}
	twoWay := decode.Motor{Servo: decode.Servo{Idle: 1500 * signal.Microsecond, Full: 2000 * signal.Microsecond, WithNeutral: true}}
	for _, test := range []struct {
		name          string
		motor         decode.Motor
		edges         []signal.Edge
		until         signal.Time
		silent, limit bool
	}{
		{"never heard", oneWay, nil, 500 * ms, false, false},
		{"below the limit", oneWay, pulses(2, 1240*signal.Microsecond, 0, 100*ms), 100 * ms, false, false},
		{"above the limit", oneWay, pulses(2, 1260*signal.Microsecond, 0, 100*ms), 100 * ms, false, true},
		{"above, backwards", twoWay, pulses(2, 1370*signal.Microsecond, 0, 100*ms), 100 * ms, false, true},
		{"below, backwards", twoWay, pulses(2, 1380*signal.Microsecond, 0, 100*ms), 100 * ms, false, false},
		{"heard, then silent", oneWay, pulses(2, 1000*signal.Microsecond, 0, 100*ms), 210 * ms, true, false},
		{"another line", oneWay, pulses(9, 1900*signal.Microsecond, 0, 100*ms), 210 * ms, false, false},
	} {
		t.Run(test.name, func(t *testing.T) {
			var motors [4]decode.Motor
			for i := range motors {
				motors[i] = test.motor
			}
			w, err := NewWatch(layout, motors, 0.25)
			require.NoError(t, err)
			var silent, limit bool
			for now := signal.Time(0); now <= test.until; now += ms {
				var captured []signal.Edge
				for _, e := range test.edges {
					if e.At > now-ms && e.At <= now {
						captured = append(captured, e)
					}
				}
				s, l := w.look(captured, now)
				silent, limit = silent || s, limit || l
			}
			assert.Equal(t, test.silent, silent, "silent")
			assert.Equal(t, test.limit, limit, "limit")
			w.reset(test.until)
			s, _ := w.look(nil, test.until+500*ms)
			assert.False(t, s, "a board that was started anew need not send at once")
		})
	}
	_, err := NewWatch(signal.Layout{}, [4]decode.Motor{}, 0.25)
	require.ErrorContains(t, err, "no line motor_front_left")
}
