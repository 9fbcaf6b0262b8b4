package file_test

import (
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/assertions/characteristic"
	"hilrig/assertions/measure"
	"hilrig/rig/decode"
	"hilrig/rig/signal"
	"hilrig/suites/demo"
	"hilrig/suites/file"
	"hilrig/suites/language"
)

func demoStand(t testing.TB) *file.Stand {
	t.Helper()
	s, err := file.ParseStand(language.Source{Path: demo.StandPath, Data: demo.StandYAML}, nil)
	require.NoError(t, err)
	return s
}

func TestTheDemoStandIsRead(t *testing.T) {
	s := demoStand(t)
	assert.Equal(t, "bramble stand", s.Name)
	assert.Equal(t, "simulated", s.Kind)
	assert.Equal(t, signal.Millisecond, s.Tick)
	assert.Equal(t, decode.Servo{Idle: 1000 * signal.Microsecond, Full: 2000 * signal.Microsecond}, s.Throttle.Motor.Servo)
	assert.Equal(t, 400.0, s.Throttle.Rate)
	assert.Equal(t, []file.ThrottleHold{{For: 2 * signal.Second}}, s.Throttle.Arm)
	assert.Equal(t, []file.StandSource{file.FromSpinUp, file.FromTelemetry}, s.Sources)
	// 1 g cm2 is 1e-7 kg m2 (SI Brochure, 9th edition, table 7).
	require.NotNil(t, s.SpinUp.Inertia)
	assert.InDelta(t, 5e-4, s.SpinUp.Inertia.Value, 1e-15)
	assert.InDelta(t, 1e-5, s.SpinUp.Inertia.Tolerance, 1e-15)
	assert.Equal(t, 256, s.SpinUp.Encoder.Lines)
	assert.InDelta(t, 0.02*math.Pi/180, s.SpinUp.Encoder.LineError, 1e-12)
	assert.Equal(t, &file.Telemetry{Baud: 115200, PolePairs: 7, MotorCurrent: file.MotorCurrent{Current: file.SupplyCurrent}}, s.Telemetry)
	require.Len(t, s.Held, 1)
	assert.Equal(t, "speed 60 rad/s", s.Held[0].String())
	assert.Equal(t, file.FromSpinUp, s.TorqueBy(&s.Held[0]))
	assert.Len(t, s.Plan.Levels, 21)
	assert.Equal(t, 0.0, s.Plan.Levels[0])
	assert.Equal(t, 1.0, s.Plan.Levels[20])
	assert.Equal(t, 3, s.Plan.Cycles)
	assert.Equal(t, &characteristic.LinearityLimit{Sense: characteristic.Independent, AtMost: 0.03}, s.Limits.Linearity)
	assert.Equal(t, &measure.Interval{Low: 0.8, High: 1.2}, s.Limits.FirstTenth)
	var lines []string
	for _, l := range s.Layout().Lines {
		lines = append(lines, l.Name)
	}
	assert.Equal(t, []string{"throttle_command", "shaft_a", "shaft_b", "esc_telemetry"}, lines)
	assert.Empty(t, file.LintStand(s))
}

// changedStand reads the demo's stand with pairs of texts replaced, each once.
func changedStand(t *testing.T, pairs ...string) (*file.Stand, error) {
	t.Helper()
	text := string(demo.StandYAML)
	for i := 0; i < len(pairs); i += 2 {
		require.Equal(t, 1, strings.Count(text, pairs[i]), pairs[i])
		text = strings.Replace(text, pairs[i], pairs[i+1], 1)
	}
	return file.ParseStand(language.Source{Path: "s.yaml", Data: []byte(text)}, nil)
}

// By hand: 800 rad/s2 for 100 ms of silence, two ticks of 1 ms, a command of 2.5 ms and 20 ms of
// the relay are 99.6 rad/s, so that a disc rated for 900 rad/s lets the speed go to 800.4.
func TestTheSpeedStopsBelowTheDiscsRatingByTheOvershoot(t *testing.T) {
	by, reckoning := demoStand(t).Overshoot()
	assert.InDelta(t, 99.6, by, 1e-9)
	assert.Equal(t, "800 rad/s2 for 124.5 ms: 100 ms of silence, two ticks of 1 ms, a command every 2.5 ms, 20 ms of a relay that opens", reckoning)
	_, err := changedStand(t, "speed: 550 rad/s", "speed: 800 rad/s")
	assert.NoError(t, err)
	_, err = changedStand(t, "speed: 550 rad/s", "speed: 801 rad/s")
	assert.ErrorContains(t, err, "stop_at: speed 801 rad/s leaves 99 rad/s to the disc's rating of 900 rad/s, and the speed may overshoot by 99.6 rad/s ("+reckoning+"); write stop_at: {speed: 800 rad/s} or less")
}

func TestWhatMeasuresFirstGivesTheTorque(t *testing.T) {
	const cell = "load_cell: {rate: 80 Hz, zero: 21500, span: [{counts: 21500, mass: 0 g}, {counts: 119567, mass: 100 g}], arm: {value: 100 mm, tolerance: 0.2 mm}}"
	const phase = "telemetry: {pole_pairs: 7, current: phase, torque_constant: {value: 12.3 mN m/A, tolerance: 5 %}}"
	const supply = "telemetry: {pole_pairs: 7, current: supply, winding_resistance: {value: 250 mohm, tolerance: 10 %}}"
	const held = "  - {kind: speed, at: 60 rad/s}"
	const others = "  - {kind: locked, level_limit: 1 s, starts_locked: yes}\n  - {kind: speed, at: 100 rad/s, by: brake}\n  - {kind: speed, at: 100.5 rad/s}\n  - {kind: inertia, to: 90 rad/s}"
	for _, tt := range []struct {
		name, measure, held string
		want                []file.StandSource
	}{
		{"cell first", cell + "\n  " + phase, others, []file.StandSource{file.FromLoadCell, file.FromLoadCell, file.FromSpinUp, file.FromSpinUp}},
		{"phase current first", phase + "\n  " + cell, others, []file.StandSource{file.FromTelemetry, file.FromTelemetry, file.FromSpinUp, file.FromSpinUp}},
		{"supply current says nothing of a locked shaft", supply + "\n  " + cell, others, []file.StandSource{file.FromLoadCell, file.FromTelemetry, file.FromSpinUp, file.FromSpinUp}},
	} {
		t.Run(tt.name, func(t *testing.T) {
			s, err := changedStand(t, "telemetry: {pole_pairs: 7, current: supply}", tt.measure, held, tt.held)
			require.NoError(t, err)
			var by []file.StandSource
			for i := range s.Held {
				by = append(by, s.TorqueBy(&s.Held[i]))
			}
			assert.Equal(t, tt.want, by)
		})
	}
}

func TestWarningsOfStands(t *testing.T) {
	for _, tt := range []struct {
		name string
		swap []string
		want string
	}{
		{"drag that is not known", []string{"coast: freewheels", "coast: brakes"}, "the controller brakes at idle, so that drag is not known: the start threshold will stay undecided"},
		{"and a line through zero", []string{"coast: freewheels", "coast: brakes", "sense: independent", "sense: zero_based"}, "zero-based linearity and the start threshold will stay undecided"},
		{"a supply of which nothing is known", []string{"  measured_by: telemetry\n", ""}, "nothing is known of how the supply sags"},
		{"a sag for each ampere without a current", []string{"  measured_by: telemetry\n", "  sag: 3 mohm\n", ", current: supply}", "}"}, "its current is not measured, so that figures at constant voltage are left out"},
		{"few levels", []string{"plan: {margin: 20 %}", "plan: {count: 7}"}, "linearity is judged from 8 levels on, and the plan has 7"},
		{"levels too far apart", []string{"plan: {margin: 20 %}", "plan: {count: 11}"}, "no tenth of the plan's levels holds two of them: first_tenth will stay undecided"},
		{"changes too coarse", []string{"resolution: 0.8 %", "resolution: 0.05 %"}, "the least change of command that is tried is 0.1 % of their span, and resolution is to be 0.05 % at most: it cannot be shown"},
		{"a dead band too narrow", []string{"dead_band: 1 %", "dead_band: 0.05 %"}, "dead_band is to be 0.05 % at most"},
		{"a search too coarse", []string{"start_threshold: 5 %", "start_threshold: 0.3 %"}, "goes by 0.5 %, and start_threshold is to be 0.3 % at most: it cannot be shown"},
		{"a mean over speeds", []string{"{kind: speed, at: 60 rad/s}", "{kind: inertia, to: 60 rad/s}"}, "linearity and first_tenth will judge the motor too"},
		{"a tacho with few pulses", []string{"kind: quadrature, lines: 256, line_error: 0.02 deg", "kind: tacho, pulses: 12"}, "at 800 rad/s2 the tacho gives 12 edges up to speed 60 rad/s and its margin, and a reading takes 16"},
		{"a cell for nothing", []string{"  telemetry:", "  load_cell: {rate: 80 Hz, zero: 0, span: [{counts: 0, mass: 0 g}, {counts: 119567, mass: 100 g}], arm: {value: 100 mm, tolerance: 0.2 mm}}\n  telemetry:"}, "load_cell is measured and gives no torque under what is held"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			s, err := changedStand(t, tt.swap...)
			require.NoError(t, err)
			w := file.LintStand(s)
			require.Len(t, w, 1, w.String())
			assert.Contains(t, w.String(), tt.want)
		})
	}
}

// Times of a step that readings at their rate cannot tell are warned of.
func TestWarningsOfSlowSources(t *testing.T) {
	const text = "stand: s\nthrottle: {kind: servo_pulse, idle: 1000 us, full: 2000 us, rate: 400 Hz}\nmeasure: {load_cell: {rate: 80 Hz, zero: 0, span: [{counts: 0, mass: 0 g}, {counts: 119567, mass: 100 g}], arm: {value: 100 mm, tolerance: 0.2 mm}}}\nsupply: {voltage: 7.4 V, sag_at_full: 0.1 V}\nheld: [{kind: locked, level_limit: 2 s, starts_locked: yes}]\n"
	for _, tt := range []struct{ more, want string }{
		{"plan: {rest: 1 s}\nlimits: {delay: 20 ms}\n", ""},
		{"plan: {rest: 1 s}\nlimits: {delay: 10 ms, rise_time: 5 ms}\n", "load_cell reads every 12.5 ms, between two of which nothing is known: delay and rise_time below that will stay undecided"},
		{"plan: {rest: 1 s, step_hold: 100 ms}\nlimits: {delay: 20 ms}\n", "load_cell reads every 12.5 ms, and a step is held for 100 ms"},
	} {
		s, err := file.ParseStand(language.Source{Path: "s.yaml", Data: []byte(text + tt.more)}, nil)
		require.NoError(t, err)
		w := file.LintStand(s)
		if tt.want == "" {
			assert.Empty(t, w.String())
			continue
		}
		require.Len(t, w, 1, w.String())
		assert.Contains(t, w.String(), tt.want)
	}
}

// Each sort of throttle line that a bench's motors can have is one of a stand's too.
func TestTheThrottleIsDeclaredAsABenchsMotors(t *testing.T) {
	const pulses = "  kind: servo_pulse\n  idle: 1000 us\n  full: 2000 us\n  rate: 400 Hz\n"
	s, err := changedStand(t, pulses, "  kind: dshot600\n  two_direction: yes\n  forward: lower\n  inverted: yes\n  rate: 4 kHz\n", "plan: {margin: 20 %}", "plan: {from: -100 %, count: 41}")
	require.NoError(t, err)
	assert.Equal(t, decode.Motor{Kind: decode.DShot600, DShot: decode.DShot{TwoDirection: true, ForwardLower: true, Inverted: true}}, s.Throttle.Motor)
	assert.True(t, s.Layout().Lines[0].Idle)
	assert.Equal(t, -1.0, s.Plan.Levels[0])
	assert.Equal(t, 0.0, s.Plan.Levels[20])
	_, err = changedStand(t, "  rate: 400 Hz\n", "")
	assert.ErrorContains(t, err, "key rate is missing in the throttle line; add rate: 400 Hz")
}

func TestLintKnowsStands(t *testing.T) {
	stand := language.Source{Path: "s.yaml", Data: []byte(strings.Replace(string(demo.StandYAML), "coast: freewheels", "coast: brakes", 1))}
	car, bench := language.Source{Path: demo.CarPath, Data: demo.CarYAML}, language.Source{Path: demo.BenchPath, Data: demo.BenchYAML}
	l := file.LintFiles([]language.Source{stand}, car, bench, 0, nil)
	assert.Empty(t, l.Problems)
	assert.Len(t, l.Warnings, 1)
	stand.Data = []byte("stand: s\n")
	assert.NotEmpty(t, file.LintFiles([]language.Source{stand}, car, bench, 0, nil).Problems)
}

func TestAConverterIsReadTwiceInTheWindow(t *testing.T) {
	const on = "bus_sensor: {quantity: current, device: /dev/i2c-1, address: 0x40, register: 1, scale: 1 mA, rate: 5 Hz, current: phase, torque_constant: {value: 12 mN m/A, tolerance: 5 %}}"
	swap := []string{"telemetry: {pole_pairs: 7, current: supply}", on, "{kind: speed, at: 60 rad/s}", "{kind: locked, level_limit: 2 s, starts_locked: yes}", "measured_by: telemetry", "sag: 3 mohm", "  temperature: 90 degC\n  lowest_voltage: 6 V\n", "", "plan: {margin: 20 %}", "plan: {window: 500 ms, dwell: 1 s}"}
	_, err := changedStand(t, swap...)
	require.NoError(t, err)
	swap[len(swap)-1] = "plan: {window: 300 ms, dwell: 1 s}"
	_, err = changedStand(t, swap...)
	assert.ErrorContains(t, err, "the bus_sensor of the current gives fewer than two readings in the window of 300 ms; read it at a higher rate")
}
