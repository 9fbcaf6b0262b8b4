//go:build linux

package chardev

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig/benchtest"
	"hilrig/rig/raspberry/hostlines"
	"hilrig/rig/raspberry/serial/serialtest"
)

func TestCharBenchConformsWithADevice(t *testing.T) {
	inRealTime(t)
	benchtest.Run(t, func(t testing.TB) benchtest.Subject {
		f := serialtest.Terminal(t)
		b, _ := openFake(t, func(s *hostlines.Settings, _ *fakeChip) {
			s.Devices = map[string]string{"yaw_serial": f.Device}
			s.Pins[1] = hostlines.NoPin
		})
		return benchtest.Subject{Bench: b, From: 0, To: 2, Delay: 100 * ms, Port: 0}
	})
}

func TestSafeReachesTheDevices(t *testing.T) {
	inRealTime(t)
	f := serialtest.Terminal(t)
	b, _ := openFake(t, func(s *hostlines.Settings, _ *fakeChip) {
		s.Devices = map[string]string{"yaw_serial": f.Device}
		s.Pins[1] = hostlines.NoPin
	})
	_, err := b.Send(0, b.Now()+20*ms, []byte("to the board"))
	require.NoError(t, err)
	f.Hear(t, 12, b.Present)
	assert.Equal(t, "to the board", string(f.Data))
	_, err = b.Send(0, b.Now()+200*ms, []byte("not sent"))
	require.NoError(t, err)
	require.NoError(t, b.Safe())
	f.Silence(t, 300*time.Millisecond)
}
