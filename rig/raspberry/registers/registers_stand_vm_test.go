//go:build pivm

package registers

import (
	"runtime/debug"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig/decode"
	"hilrig/rig/raspberry/hostlines"
	"hilrig/rig/signal"
	"hilrig/stimulus/wire"
)

// The lines of a stand: throttle pulses go out by the registers, and what comes in on the tacho's line,
// to which the jumper leads them back, is counted. The emulator keeps no time that says anything of a
// pulse's width: only that none is lost and none is made up.
func TestPiPlaysAThrottleAndHearsAShaft(t *testing.T) {
	r := openPi(t)
	throttle, tacho := signal.Spec(signal.ThrottleCommand, signal.NoWheel), signal.Spec(signal.ShaftTacho, signal.NoWheel)
	require.NoError(t, r.Output(17, throttle.Idle))
	require.NoError(t, r.Input(22, hostlines.PullDown))
	collector := debug.SetGCPercent(-1) // it would wait for the loop, and the loop for nobody
	t.Cleanup(func() { debug.SetGCPercent(collector) })
	b, err := New(Settings{
		Settings: hostlines.Settings{Layout: signal.Layout{Lines: []signal.LineSpec{throttle, tacho}}, Pins: hostlines.Pins{17, 22}, Formats: []decode.MotorKind{decode.ServoPulse}},
		PinBank:  jumper{r}, LongestGap: signal.Second,
	})
	require.NoError(t, err)
	defer b.Close()

	const frame, frames = 20 * signal.Millisecond, 25
	from := (b.Now()/frame + 10) * frame
	encoder, err := wire.NewThrottle(wire.Throttle{Idle: 1000 * signal.Microsecond, Full: 2000 * signal.Microsecond, Frame: frame}, 0, from)
	require.NoError(t, err)
	edges := encoder.Append(nil, from, from+frames*frame, 0.5)
	require.Len(t, edges, 2*frames)
	require.NoError(t, b.Drive(edges, from+frames*frame))
	shaft, err := decode.NewTachoAngle(wire.Tacho{Pulses: 1}, 1)
	require.NoError(t, err)
	shaft.Reset(b.Now(), false, false)
	var samples []decode.AngleSample
	var captured []signal.Edge
	for until := from + (frames+5)*frame; b.Now() < until; {
		require.NoError(t, b.Wait(b.Now()+5*signal.Millisecond))
		captured, err = b.Captured(captured[:0])
		require.NoError(t, err)
		for _, e := range captured {
			samples = shaft.Edge(e, samples)
		}
		samples = shaft.Until(b.Now(), samples)
	}
	require.NotEmpty(t, samples)
	assert.Equal(t, int64(2*frames), samples[len(samples)-1].Count, "an edge of the shaft for each of the throttle's: %+v", shaft.Tally())
	require.NoError(t, b.Close())
	assert.Equal(t, "gpio_out lo", kernel(t, 17), "the throttle line rests")
}
