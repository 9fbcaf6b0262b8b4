//go:build linux

package registers

import (
	"testing"

	"github.com/stretchr/testify/require"

	"hilrig/rig/benchtest"
	"hilrig/rig/raspberry/hostlines"
	"hilrig/rig/raspberry/serial/serialtest"
)

func TestBenchConformsWithADevice(t *testing.T) {
	benchtest.Run(t, func(t testing.TB) benchtest.Subject {
		f, turns := serialtest.Terminal(t), turnsOfATest()
		s := openLoop(t, turns)
		layout := s.Bench.Layout()
		require.NoError(t, s.Bench.Close())
		m := &Memory{}
		m.Wire(17, 22)
		var err error
		s.Bench, err = New(Settings{Settings: hostlines.Settings{Layout: layout, Pins: hostlines.Pins{17, hostlines.NoPin, 22, 5, 6}, Devices: map[string]string{"yaw_serial": f.Device}}, PinBank: m, Time: turns})
		require.NoError(t, err)
		return s
	})
}
