package file_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/plant"
	"hilrig/rig/decode"
	"hilrig/rig/signal"
	"hilrig/suites/demo"
	"hilrig/suites/file"
	"hilrig/suites/language"
)

// motors returns the demo bench with other motor commands.
func motors(t *testing.T, keys string) (*file.Bench, error) {
	t.Helper()
	text := string(demo.BenchYAML)
	from, to := strings.Index(text, "motors:\n"), strings.Index(text, "\nboard:")
	require.True(t, from > 0 && to > from)
	return file.ParseBench(language.Source{Path: "bench.yaml", Data: []byte(text[:from] + "motors: " + keys + "\n" + text[to:])})
}

func TestMotorFormats(t *testing.T) {
	const us = signal.Microsecond
	pulse := decode.Servo{Idle: 1000 * us, Full: 2000 * us}
	inverted := pulse
	inverted.Inverted, inverted.LostAfter = true, 50*signal.Millisecond
	backward := decode.Servo{Idle: 2000 * us, Full: 1000 * us}
	for _, row := range []struct {
		name, keys string
		want       decode.Motor
		rearLeft   decode.Motor
		rate       float64
	}{
		{"servo pulse", "{kind: servo_pulse, idle: 1000 us, full: 2000 us}", decode.Motor{Servo: pulse}, decode.Motor{Servo: pulse}, 0},
		{"inverted, one wheel the other way", "{kind: servo_pulse, idle: 1000 us, full: 2000 us, inverted: yes, lost_after: 50 ms, rate: 400 Hz, wheels: {rear_left: {inverted: no, idle: 2000 us, full: 1000 us}}}",
			decode.Motor{Servo: inverted}, decode.Motor{Servo: decode.Servo{Idle: backward.Idle, Full: backward.Full, LostAfter: 50 * signal.Millisecond}}, 400},
		{"an eighth", "{kind: oneshot125, rate: 2 kHz}", decode.Motor{Kind: decode.OneShot125}, decode.Motor{Kind: decode.OneShot125}, 2000},
		{"an eighth with a neutral", "{kind: oneshot125, with_neutral: yes}",
			decode.Motor{Kind: decode.OneShot125, Servo: decode.Servo{WithNeutral: true}}, decode.Motor{Kind: decode.OneShot125, Servo: decode.Servo{WithNeutral: true}}, 0},
		{"digital", "{kind: dshot150}", decode.Motor{Kind: decode.DShot150}, decode.Motor{Kind: decode.DShot150}, 0},
		{"digital at 8 kHz", "{kind: dshot600, rate: 8 kHz, inverted: yes, stop_is_idle: yes}",
			decode.Motor{Kind: decode.DShot600, DShot: decode.DShot{Inverted: true, StopIsIdle: true}}, decode.Motor{Kind: decode.DShot600, DShot: decode.DShot{Inverted: true, StopIsIdle: true}}, 8000},
		{"two directions", "{kind: dshot300, two_direction: yes, forward: upper, wheels: {rear_left: {forward: lower, inverted: yes}}}",
			decode.Motor{Kind: decode.DShot300, DShot: decode.DShot{TwoDirection: true}},
			decode.Motor{Kind: decode.DShot300, DShot: decode.DShot{TwoDirection: true, ForwardLower: true, Inverted: true}}, 0},
	} {
		t.Run(row.name, func(t *testing.T) {
			b, err := motors(t, row.keys)
			require.NoError(t, err)
			assert.Equal(t, row.want, b.Wiring.Motors[plant.FrontLeft])
			assert.Equal(t, row.rearLeft, b.Wiring.Motors[plant.RearLeft])
			assert.Equal(t, row.rate, b.MotorRate)
			layout := b.Wiring.Layout()
			line, ok := layout.Line("motor_front_left")
			require.True(t, ok)
			assert.Equal(t, row.want.Inverted(), layout.Lines[line].Idle)
			for _, m := range b.Wiring.Motors {
				_, err := m.New()
				assert.NoError(t, err)
			}
		})
	}
}

func TestMotorMistakes(t *testing.T) {
	for _, row := range []struct{ name, keys, want string }{
		{"unknown kind", "{kind: dshot1200}", `kind "dshot1200" is not known; use`},
		{"no kind", "{idle: 1000 us}", "key kind is missing"},
		{"digital with widths", "{kind: dshot300, idle: 1000 us}", `key "idle" is not known in the motor commands as digital frames`},
		{"servo with a sense", "{kind: servo_pulse, idle: 1000 us, full: 2000 us, two_direction: yes}", `key "two_direction" is not known in the motor commands`},
		{"no sense", "{kind: dshot300, two_direction: yes}", "which half of the values drives ahead; add forward: upper"},
		{"sense for nothing", "{kind: dshot300, forward: upper}", "forward has no meaning without two_direction"},
		{"a wheel's sense for nothing", "{kind: dshot300, wheels: {rear_left: {forward: lower}}}", "forward has no meaning without two_direction"},
		{"same width", "{kind: oneshot125, idle: 250 us}", "idle and full are the same width; give two widths"},
		{"a servo pulse for an eighth", "{kind: oneshot125, idle: 1000 us, full: 250 us}", "pulses of 0.25 ms to 1 ms are not all between least 0.1 ms and most 0.3 ms"},
		{"a wheel beyond the limits", "{kind: servo_pulse, idle: 1000 us, full: 2000 us, wheels: {rear_left: {full: 3000 us}}}", "are not all between least"},
		{"too fast for the pulse", "{kind: servo_pulse, idle: 1000 us, full: 2000 us, rate: 500 Hz}", "commands of up to 2 ms do not fit 500 Hz; give a lower rate"},
		{"too fast for the frame", "{kind: dshot150, rate: 9 kHz}", "do not fit 9000 Hz"},
		{"a loss within a pulse", "{kind: servo_pulse, idle: 1000 us, full: 2000 us, lost_after: 2 ms}", "a loss after 2 ms is not longer than a pulse of 2.5 ms"},
		{"an unknown wheel", "{kind: dshot150, wheels: {front: {inverted: yes}}}", `key "front" is not known in the wheels of the digital commands`},
	} {
		t.Run(row.name, func(t *testing.T) {
			_, err := motors(t, row.keys)
			assert.ErrorContains(t, err, row.want)
		})
	}
}
