package file_test

import (
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig/raspberry/pinout"
	"hilrig/suites/demo"
	"hilrig/suites/file"
	"hilrig/suites/language"
)

// onPi returns the text of the demo's bench on pins, with these lines before its pins
// and these motors.
func onPi(lines, motors string) string {
	text := strings.Replace(string(demo.BenchYAML), "encoders:", lines+wiredHead+"encoders:", 1)
	text = strings.Replace(text, "- port: yaw_serial", "- port: yaw_serial\n    device: /dev/ttyAMA0", 1)
	if motors == "" {
		return text
	}
	before, after, _ := strings.Cut(text, "motors:\n")
	_, after, _ = strings.Cut(after, "board:")
	return before + "motors:\n  kind: " + motors + "\nboard:" + after
}

// Which formats a model captures follows from pi-wide measurements of others, which
// pinout.Model.Limits names.
func TestTheComputerLimitsTheMotorFormat(t *testing.T) {
	tests := []struct {
		name, computer, motors string
		host                   pinout.Model
		problem, warning       string
	}{
		{"as declared", "Pi 5", "dshot300", pinout.Pi4,
			"motors: dshot300 cannot be captured on a Pi 5: its bits are shorter than the kernel's stamps are uncertain; have the board send servo_pulse, or use a Pi 3B+ or Pi 4B", ""},
		{"as it runs", "", "dshot150", pinout.Pi5, "dshot150 cannot be captured on a Pi 5", ""},
		{"declared for another", "Pi 4B", "dshot300", pinout.Pi5, "", ""},
		{"marginal", "Pi 4B", "dshot600", pinout.NoPi, "",
			"motors: dshot600 is captured marginally on a Pi 4B: with bit times within 10 % only 4 to 65 % of its frames are read at the 0.24 to 0.32 us that a turn of the loop is reckoned to take, which hilrig timing measures; with bit_tolerance: 2 %, where the board keeps that, 71 to 100 %; have the board send servo_pulse, oneshot125, dshot150 or dshot300"},
		{"marginal with times of a bit that are declared", "Pi 3B+", "dshot600\n  bit_tolerance: 2 %", pinout.NoPi, "",
			"motors: dshot600 is captured marginally on a Pi 3B+: with its bit_tolerance 71 to 100 % of its frames are read at the 0.24 to 0.32 us that a turn of the loop is reckoned to take, which hilrig timing measures; the rest is left out; have the board"},
		{"well with any times of a bit", "Pi 3B+", "dshot300\n  bit_tolerance: 10 %", pinout.NoPi, "", ""},
		{"marginal by the kernel's stamps", "Pi 5", "oneshot125", pinout.NoPi, "", "oneshot125 is captured marginally on a Pi 5"},
		{"no computer", "", "dshot600", pinout.NoPi, "", "dshot600 is captured marginally on the most able Pi"},
		{"a host that is no help", "", "dshot600", pinout.Other, "", "dshot600 is captured marginally on the most able Pi"},
		{"pulses go everywhere", "Pi 5", "", pinout.NoPi, "", ""},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			lines := ""
			if tt.computer != "" {
				lines = "computer: " + tt.computer + "\n"
			}
			text := onPi(lines, tt.motors)
			b, err := file.ParseBenchOn(language.Source{Path: "b.yaml", Data: []byte(text)}, tt.host)
			if tt.problem != "" {
				require.ErrorContains(t, err, fmt.Sprintf("b.yaml:%d:9: ", lineOf(text, "kind: dshot")))
				assert.ErrorContains(t, err, tt.problem)
				return
			}
			require.NoError(t, err)
			if tt.warning == "" {
				assert.Empty(t, file.LintBench(b))
				return
			}
			require.Len(t, file.LintBench(b), 1)
			assert.Contains(t, file.LintBench(b)[0].Error(), tt.warning)
			assert.Equal(t, lineOf(text, "  kind: "+strings.SplitN(tt.motors, "\n", 2)[0]), file.LintBench(b)[0].Line)
		})
	}
}

// Only a Pi 4 and a Pi 5 have serial ports on further pins.
func TestTheComputerLimitsTheSerialPins(t *testing.T) {
	for _, tt := range []struct{ name, computer, device, want string }{
		{"a Pi 3", "Pi 3B+", "/dev/ttyAMA1\n    pin: GPIO20", "no serial port sends"},
		{"a Pi 3 on a pin of its successor", "Pi 3B+", "/dev/ttyAMA1\n    pin: GPIO4", "port yaw_serial is on GPIO4, on which a Pi 3B+ does not send; use GPIO14"},
		{"its successor", "Pi 4B", "/dev/ttyAMA1\n    pin: GPIO4", ""},
		{"a Pi 3's own pin", "Pi 3B+", "/dev/ttyAMA0\n    pin: GPIO14", ""},
		{"an adapter only listens", "Pi 3B+", "/dev/ttyUSB0\n    pin: GPIO4", ""},
	} {
		t.Run(tt.name, func(t *testing.T) {
			text := strings.NewReplacer("/dev/ttyAMA0", tt.device, "motor_front_left: GPIO16", "motor_front_left: GPIO21").Replace(onPi("computer: "+tt.computer+"\n", ""))
			_, err := file.ParseBench(language.Source{Path: "b.yaml", Data: []byte(text)})
			if tt.want == "" {
				assert.NoError(t, err)
				return
			}
			assert.ErrorContains(t, err, tt.want)
		})
	}
}

// lineOf returns the number of the first line that contains a text.
func lineOf(text, part string) int {
	return 1 + strings.Count(text[:strings.Index(text, part)], "\n")
}

// A wheel of 54 mm turns 29.5 times a second at 10 m/s: 4 x 1024 edges a turn are 1.21e5 a
// second, of four wheels 4.83e5 (computed).
func TestTheComputerLimitsTheEncodersEdges(t *testing.T) {
	car, _ := bramble(t)
	suite := `suite: fast
defaults: {throttle: 40 %, gain: 50 %, settle: 100 ms, observe: 100 ms}
cases:
  - case: straight
    each: {speed: [2 m/s, 10 m/s]}
    hold: {steer: 0 deg, yaw_rate: 0 deg/s}
    expect: [{motor: all, is: unchanged}]
`
	for _, tt := range []struct{ name, lines, encoder, want string }{
		{"too fast for the kernel's lines", "computer: Pi 5\n", "lines: 1024", "fast.yaml:6:11: the wheels give up to 483000 edges a second, and a Pi 5 plays 100000; play a lower speed, or declare fewer lines than 1024 a turn, or use a Pi 3B+ or Pi 4B"},
		{"not for registers", "computer: Pi 3B+\n", "lines: 1024", ""},
		{"too fast for any", "", "lines: 4096", "and the most able Pi plays 1500000; play a lower speed, or declare fewer lines than 4096 a turn"},
		{"few lines", "computer: Pi 5\n", "lines: 64", ""},
	} {
		t.Run(tt.name, func(t *testing.T) {
			text := strings.Replace(onPi(tt.lines, ""), "lines: 256", tt.encoder, 1)
			b, err := file.ParseBench(language.Source{Path: "b.yaml", Data: []byte(text)})
			require.NoError(t, err)
			_, err = file.ParseSuite(language.Source{Path: "fast.yaml", Data: []byte(suite)}, car, b)
			if tt.want == "" {
				assert.NoError(t, err)
				return
			}
			require.ErrorContains(t, err, tt.want)
			assert.Len(t, err.(language.Problems), 1, "once, whatever the variants")
		})
	}
	t.Run("a simulated bench has no computer", func(t *testing.T) {
		b, err := file.ParseBench(language.Source{Path: "b.yaml", Data: []byte(strings.Replace(string(demo.BenchYAML), "lines: 256", "lines: 4096", 1))})
		require.NoError(t, err)
		_, err = file.ParseSuite(language.Source{Path: "fast.yaml", Data: []byte(suite)}, car, b)
		assert.NoError(t, err)
	})
}
