package file_test

import (
	"math"
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
	assert.Equal(t, 512, s.SpinUp.Encoder.Lines)
	assert.InDelta(t, 0.02*math.Pi/180, s.SpinUp.Encoder.LineError, 1e-12)
	assert.Equal(t, &file.Telemetry{Baud: 115200, PolePairs: 7, MotorCurrent: file.MotorCurrent{Current: file.SupplyCurrent}}, s.Telemetry)
	require.Len(t, s.Held, 2)
	assert.Equal(t, "speed 24 rad/s", s.Held[0].String())
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
