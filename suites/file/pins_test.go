package file_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/suites/demo"
	"hilrig/suites/file"
	"hilrig/suites/language"
)

const wiredHead = `kind: raspberry
pins:
  {steer: GPIO23, throttle: GPIO24, gain: GPIO25, reset: GPIO26,
  front_left_a: GPIO9, front_left_b: GPIO10, front_right_a: GPIO11, front_right_b: GPIO12,
  rear_left_a: GPIO6, rear_left_b: GPIO7, rear_right_a: GPIO8, rear_right_b: GPIO3,
  motor_front_left: GPIO16, motor_front_right: GPIO19, motor_rear_left: GPIO13, motor_rear_right: GPIO18}
interlock: {stop: GPIO17, relay: GPIO22, heartbeat: GPIO27}
`

// wired returns the demo's bench on a Pi, with old replaced by new in it.
func wired(t *testing.T, old, new string) (*file.Bench, error) {
	t.Helper()
	text := strings.Replace(string(demo.BenchYAML), "encoders:", wiredHead+"encoders:", 1)
	text = strings.Replace(text, "- port: yaw_serial", "- port: yaw_serial\n    device: /dev/ttyAMA0", 1)
	require.Contains(t, text, old)
	return file.ParseBench(language.Source{Path: "b.yaml", Data: []byte(strings.Replace(text, old, new, 1))})
}

func TestABenchOnAPiHasItsPins(t *testing.T) {
	b, err := wired(t, "", "")
	require.NoError(t, err)
	assert.Equal(t, "raspberry", b.Kind)
	assert.Equal(t, file.Interlock{Stop: 17, Relay: 22, Heartbeat: 27}, b.Interlock)
	assert.Equal(t, map[string]string{"yaw_serial": "/dev/ttyAMA0"}, b.Devices)
	for _, l := range b.Wiring.Layout().Lines {
		assert.NotZero(t, b.Pins[l.Name], l.Name)
	}
	assert.Equal(t, 23, b.Pins["steer"])
	assert.Equal(t, 26, b.Pins["reset"])
	assert.Equal(t, 14, b.Pins["yaw_serial"])
	assert.Equal(t, 15, b.Pins["yaw_serial_request"], "the port receives beside the pin that it sends on")
	c := newChecker(t, "bench")
	assert.Empty(t, c.check(value(t, b.Source.Data), c.top, "bench"))
}

// The command's line leads to the speed controller as well, and a pull-up of the Pi raises it
// while the board starts.
func TestAMotorCommandOnAPinThatIsHighAtBootIsOdd(t *testing.T) {
	for pin, odd := range map[string]bool{"GPIO2": true, "GPIO4": true, "GPIO18": false, "GPIO21": false} {
		b, err := wired(t, "motor_rear_right: GPIO18", "motor_rear_right: "+pin)
		require.NoError(t, err)
		found := file.LintBench(b)
		if !odd {
			assert.Empty(t, found, pin)
			continue
		}
		require.Len(t, found, 1)
		assert.Equal(t, language.Warning, found[0].Level)
		assert.Contains(t, found[0].Error(), "motor_rear_right is on "+pin+", which is pulled high from power-up")
		assert.Contains(t, found[0].Error(), "use one of GPIO9 to GPIO27")
	}
}

func TestTheDemoBenchIsSimulatedAndHasNoPins(t *testing.T) {
	_, b := bramble(t)
	assert.Equal(t, "simulated", b.Kind)
	assert.Nil(t, b.Pins)
	assert.Nil(t, b.Devices)
	assert.Zero(t, b.Interlock)
}

func TestWhatNeedsAPinAndHasNone(t *testing.T) {
	tests := []struct{ name, old, new, want string }{
		{"a simulated bench needs none", "kind: raspberry\n", "", ""},
		{"a line", "throttle: GPIO24, gain: GPIO25,", "", "no pin for throttle, gain;"},
		{"the reset", ", reset: GPIO26", "", "no pin for reset;"},
		{"the device", "device: /dev/ttyAMA0", "pin: GPIO14", "no device for port yaw_serial;"},
		{"an adapter needs no pin", "/dev/ttyAMA0", "/dev/ttyUSB0", ""},
		{"signals alone need no interlock", "interlock: {stop: GPIO17, relay: GPIO22, heartbeat: GPIO27}\n", "", ""},
		{"motors need it all", "motors_powered: signals_only", "motors_powered: motors_no_wheels", ""},
		{"another pin of the port", "device: /dev/ttyAMA0", "device: /dev/ttyAMA3\n    pin: GPIO12", "GPIO12, which belongs to serial port yaw_serial"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			_, err := wired(t, tt.old, tt.new)
			if tt.want == "" {
				assert.NoError(t, err)
				return
			}
			assert.ErrorContains(t, err, tt.want)
		})
	}
	t.Run("motors without a heartbeat", func(t *testing.T) {
		text := strings.Replace(string(demo.BenchYAML), "encoders:", strings.Replace(wiredHead, ", heartbeat: GPIO27", "", 1)+"encoders:", 1)
		text = strings.Replace(text, "- port: yaw_serial", "- port: yaw_serial\n    device: /dev/ttyAMA0", 1)
		text = strings.Replace(text, "signals_only", "wheels_off_ground", 1)
		_, err := file.ParseBench(language.Source{Path: "b.yaml", Data: []byte(text)})
		assert.ErrorContains(t, err, "the interlock has no heartbeat")
	})
}

// An adapter's port may name the pin that reads its wire back, any pin.
func TestAnAdaptersPinOnlyListens(t *testing.T) {
	b, err := wired(t, "device: /dev/ttyAMA0", "device: /dev/ttyUSB0\n    pin: GPIO20")
	require.NoError(t, err)
	assert.Equal(t, 20, b.Pins["yaw_serial"])
	assert.NotContains(t, b.Pins, "yaw_serial_request")
}
