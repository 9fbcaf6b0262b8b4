package raspberry

import (
	"errors"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig/raspberry/hostlines"
	"hilrig/rig/raspberry/pinout"
	"hilrig/rig/signal"
)

// somebody has these lines, and may be asked about pins of the header alone.
func somebody(t *testing.T, users map[int]string) Asker {
	return func(gpios []int) (map[int]string, error) {
		found := map[int]string{}
		for _, gpio := range gpios {
			assert.NotZero(t, pinout.Position(gpio), "GPIO%d", gpio)
			if user, ok := users[gpio]; ok {
				found[gpio] = user
			}
		}
		return found, nil
	}
}

func TestABenchOnRegistersRefusesLinesInUse(t *testing.T) {
	s := pinned(26)
	tests := []struct {
		name  string
		users map[int]string
		want  string
	}{
		{"nobody", nil, ""},
		{"on another pin", map[int]string{19: "spi0 CS0"}, ""},
		{"a driven one", map[int]string{17: "dht11"}, "steer on GPIO17 (pin 11, has it: dht11): in use by another program or a driver of the kernel; end the program"},
		{"one without a name", map[int]string{18: ""}, "spare on GPIO18 (pin 12, has it: somebody without a name)"},
		{"a captured one and the reset", map[int]string{22: "sysfs", 26: "led"}, "motor_front_left on GPIO22 (pin 15, has it: sysfs), reset on GPIO26 (pin 37, has it: led): in use"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			err := refuseUsed(usesOf(&s), somebody(t, tt.users))
			if tt.want == "" {
				assert.NoError(t, err)
				return
			}
			require.ErrorIs(t, err, errInUse)
			assert.ErrorContains(t, err, tt.want)
		})
	}
	t.Run("nobody to ask", func(t *testing.T) {
		assert.NoError(t, refuseUsed(usesOf(&s), func([]int) (map[int]string, error) { return nil, errors.New("no chip") }))
	})
}

// A UART has its own pin, and an adapter's wire that is not read back has none.
func TestTheKernelIsNotAskedAboutThePinsOfPorts(t *testing.T) {
	s := hostlines.Settings{
		Layout: signal.Layout{Lines: []signal.LineSpec{{Name: "yaw_serial", Idle: true, Role: signal.SerialData}, {Name: "gps", Idle: true, Role: signal.SerialData}, {Name: "bus", Idle: true, Role: signal.SerialData}, {Name: "steer", Role: signal.SteerPulse}}},
		Pins:   hostlines.Pins{14, hostlines.NoPin, 24, 17}, Devices: map[string]string{"yaw_serial": "/dev/ttyAMA0", "gps": "/dev/ttyUSB0", "bus": "/dev/ttyUSB1"},
	}
	assert.Equal(t, []Use{{"bus", 24}, {"steer", 17}}, usesOf(&s))
	w := pinout.Wires{Layout: s.Layout, Pins: map[string]int{"yaw_serial": 14, "bus": 24, "steer": 17}, Devices: s.Devices, Stop: 5, Relay: 16, Heartbeat: 20}
	assert.Equal(t, []Use{{"bus", 24}, {"steer", 17}, {"stop", 5}, {"relay", 16}, {"heartbeat", 20}}, UsesOf(&w))
}

// Where a model's pins are reached by the kernel, it refuses such lines itself.
func TestLinesInUseAreLookedUpForRegistersAlone(t *testing.T) {
	w := pinout.Wires{Pins: map[string]int{"steer": 23}, Relay: 16}
	for _, m := range []pinout.Model{pinout.NoPi, pinout.Other, pinout.Pi5} {
		assert.NoError(t, LookUp(m, &w))
	}
}
