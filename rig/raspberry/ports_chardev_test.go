//go:build linux

package raspberry

import (
	"fmt"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig/benchtest"
	"hilrig/rig/raspberry/registers"
	"hilrig/rig/raspberry/serial/serialtest"
	"hilrig/rig/signal"
)

func TestCharBenchConformsWithADevice(t *testing.T) {
	inRealTime(t)
	benchtest.Run(t, func(t testing.TB) benchtest.Subject {
		f := serialtest.Terminal(t)
		b, _ := openFake(t, func(s *CharSettings, _ *fakeChip) {
			s.Devices = map[string]string{"yaw_serial": f.Device}
			s.Pins[1] = registers.NoPin
		})
		return benchtest.Subject{Bench: b, From: 0, To: 2, Delay: 100 * ms, Port: 0}
	})
}

func TestSafeReachesTheDevices(t *testing.T) {
	inRealTime(t)
	f := serialtest.Terminal(t)
	b, _ := openFake(t, func(s *CharSettings, _ *fakeChip) {
		s.Devices = map[string]string{"yaw_serial": f.Device}
		s.Pins[1] = registers.NoPin
	})
	_, err := b.Send(0, b.Now()+20*ms, []byte("to the board"))
	require.NoError(t, err)
	f.Hear(t, 12, b.clock)
	assert.Equal(t, "to the board", string(f.Data))
	_, err = b.Send(0, b.Now()+200*ms, []byte("not sent"))
	require.NoError(t, err)
	require.NoError(t, b.Safe())
	f.Silence(t, 300*time.Millisecond)
}

// The pin on which a UART sends is its driver's, and one that listens to an adapter is
// an input.
func TestAPortsPinIsNoOutput(t *testing.T) {
	s := pinned(0)
	s.Layout.Lines = append(s.Layout.Lines, signal.LineSpec{Name: "yaw_serial", Idle: true, Role: signal.SerialData})
	for device, want := range map[string]string{
		"/dev/ttyAMA0": "", "/dev/ttyUSB0": fmt.Sprint("input 14 ", registers.PullUp), "": "output 14 true",
	} {
		lines := &noted{}
		one := s
		one.Pins, one.Devices = append(slices.Clone(s.Pins), 14), map[string]string{"yaw_serial": device}
		require.NoError(t, makeReady(lines, one))
		got := lines.said[4:]
		if want == "" {
			assert.Empty(t, got)
			continue
		}
		assert.Equal(t, []string{want}, got, device)
	}
	lines := &noted{}
	s.Pins, s.Devices = append(s.Pins, registers.NoPin), map[string]string{"yaw_serial": "/dev/ttyUSB0"}
	require.NoError(t, makeReady(lines, s))
	assert.Len(t, lines.said, 4, "there is no pin")
}
