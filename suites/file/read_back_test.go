package file_test

import (
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig/trace"
	"hilrig/suites/demo"
	"hilrig/suites/file"
	"hilrig/suites/language"
)

const trialsSuite = `suite: s
defaults: {speed: 4 m/s, throttle: 40 %, gain: 50 %}
cases:
  - case: slow
    hold: {steer: 0 deg, yaw_rate: 20 deg/s}
    expect: [{sum: kept}]
  - case: response
    baseline: none
    steps:
      - {step: yaw, steer: 0 deg, trials: {yaw_rate: [10 deg/s, 20 deg/s], count: 20, interval: 60 ms}}
    expect: [{policy: response, step: yaw}]
`

// Trials on a port that is read back nowhere cannot be judged; all else can.
func TestTrialsNeedAPortThatIsReadBack(t *testing.T) {
	car, simulated := bramble(t)
	for _, tt := range []struct {
		name, computer, device, suite string
		wrong                         bool
	}{
		{"an adapter", "Pi 4B", "/dev/ttyUSB0", trialsSuite, true},
		{"an adapter by its name", "Pi 4B", "/dev/serial/by-id/usb-1", trialsSuite, true},
		{"an adapter read back", "Pi 4B", "/dev/ttyUSB0\n    pin: GPIO20", trialsSuite, false},
		{"a port of the header", "Pi 4B", "/dev/ttyAMA0", trialsSuite, false},
		{"a port of the header of a Pi 5", "Pi 5", "/dev/ttyAMA0", trialsSuite, true},
		{"an adapter read back by a Pi 5", "Pi 5", "/dev/ttyUSB0\n    pin: GPIO20", trialsSuite, false},
		{"trials of a pulse", "Pi 4B", "/dev/ttyUSB0", strings.Replace(trialsSuite, "yaw_rate: [10 deg/s, 20 deg/s]", "throttle: [30 %, 50 %]", 1), false},
	} {
		t.Run(tt.name, func(t *testing.T) {
			text := strings.Replace(string(demo.BenchYAML), "encoders:", wiredHead+"encoders:", 1)
			text = strings.Replace(text, "- port: yaw_serial", "- port: yaw_serial\n    device: "+tt.device, 1)
			text = "computer: " + tt.computer + "\n" + text
			bench, err := file.ParseBench(language.Source{Path: "b.yaml", Data: []byte(text)})
			require.NoError(t, err)
			q, unread := bench.Unread(trace.YawRate)
			_, err = file.ParseSuite(language.Source{Path: "s.yaml", Data: []byte(tt.suite)}, car, bench)
			if tt.suite == trialsSuite {
				assert.Equal(t, tt.wrong, unread)
			}
			if unread {
				assert.Equal(t, "b.yaml", q.File)
				assert.Contains(t, q.Excerpt, fmt.Sprintf("%d |   - port: yaw_serial\n", q.Line))
				assert.Contains(t, q.Error(), "trials of yaw_rate go out on port yaw_serial")
			}
			_, unread = bench.Unread(trace.Throttle)
			assert.False(t, unread, "a pulse is on a line of its own")
			if !tt.wrong {
				assert.NoError(t, err)
				return
			}
			assert.ErrorContains(t, err, "s.yaml:10:")
			assert.ErrorContains(t, err, "trials of yaw_rate go out on port yaw_serial")
			assert.ErrorContains(t, err, "pin: GPIO20")
		})
	}
	_, err := file.ParseSuite(language.Source{Path: "s.yaml", Data: []byte(trialsSuite)}, car, simulated)
	assert.NoError(t, err, "virtual time is exact")
}

// The bus of a receiver is a port like any other.
func TestTrialsNeedABusThatIsReadBack(t *testing.T) {
	car, _ := bramble(t)
	bus := `receiver:
  bus:
    port: receiver_bus
    rate: 100 Hz
    steer: {channel: 1, counts: [172, 1811], pulses: [988 us, 2012 us]}
    throttle: {channel: 2, idle: 172, full: 1811}
    gain: {channel: 3, idle: 172, full: 1811}
    device: DEVICE
`
	text := string(demo.BenchYAML)
	from := strings.Index(text, "receiver:")
	to := from + strings.Index(text[from:], "\nserial:") + 1
	head := strings.Replace(wiredHead, "steer: GPIO23, throttle: GPIO24, gain: GPIO25, ", "", 1)
	suite := strings.Replace(trialsSuite, "yaw_rate: [10 deg/s, 20 deg/s]", "throttle: [30 %, 50 %]", 1)
	for device, want := range map[string]string{
		"/dev/ttyUSB0":                  "trials of throttle go out on port receiver_bus",
		"/dev/ttyUSB0\n    pin: GPIO20": "",
	} {
		whole := text[:from] + strings.Replace(bus, "DEVICE", device, 1) + text[to:]
		whole = strings.Replace(whole, "encoders:", head+"encoders:", 1)
		whole = strings.Replace(whole, "- port: yaw_serial", "- port: yaw_serial\n    device: /dev/ttyAMA0", 1)
		bench, err := file.ParseBench(language.Source{Path: "b.yaml", Data: []byte(whole)})
		require.NoError(t, err)
		_, err = file.ParseSuite(language.Source{Path: "s.yaml", Data: []byte(suite)}, car, bench)
		q, unread := bench.Unread(trace.Throttle)
		assert.Equal(t, want != "", unread)
		if want == "" {
			assert.NoError(t, err)
		} else {
			assert.ErrorContains(t, err, want)
			assert.Contains(t, q.Error(), want)
			assert.Contains(t, q.Excerpt, "port: receiver_bus")
		}
	}
}
