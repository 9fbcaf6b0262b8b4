package law_test

import (
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/assertions/law"
	"hilrig/rig/signal"
)

// What may be asked of a stretch does not depend on what was asked before, be that earlier or later.
func TestAnEnvelopeMayBeAskedInAnyOrder(t *testing.T) {
	r := rand.New(rand.NewPCG(7, 7))
	d := drawnDrive(r, point{steer: 8 * deg, throttle: 0.5, gain: 0.8, yaw: 1, speed: 4}, signal.Second, false)
	l := law.New(&law.Policy{}, law.Scale{})
	const horizon = 20 * ms
	asked := l.Envelope(&d.h, horizon)
	for range 200 {
		from := 100*ms + signal.Time(r.IntN(800))*ms
		to := from + signal.Time(r.IntN(60))*ms
		got, ok := asked.Inputs(from, to)
		require.True(t, ok)
		want, _ := l.Envelope(&d.h, horizon).Inputs(from, to)
		assert.Equal(t, want, got, "%v to %v", from, to)
	}
}
