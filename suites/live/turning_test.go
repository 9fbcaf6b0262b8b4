package live

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig"
	"hilrig/rig/signal"
	"hilrig/stimulus/wire"
	"hilrig/suites/demo"
	"hilrig/suites/file"
	"hilrig/suites/language"
)

func TestMotorsWiredOtherwiseAreSeenAnew(t *testing.T) {
	words := func(change func(b *file.Bench)) string {
		b, err := file.ParseBench(language.Source{Path: demo.BenchPath, Data: demo.BenchYAML})
		require.NoError(t, err)
		b.Pins = map[string]int{"motor_front_left": 5, "throttle": 24}
		change(b)
		return MotorsWired(b)
	}
	same := words(func(*file.Bench) {})
	assert.Equal(t, same, words(func(b *file.Bench) { b.Name, b.Interlock.MotorLimit, b.Board.ReadyAfter = "x", 0.5, 1 }))
	assert.NotEqual(t, same, words(func(b *file.Bench) { b.Pins["motor_front_left"] = 6 }))
	assert.NotEqual(t, same, words(func(b *file.Bench) { b.Wiring.Motors[2].Servo.WithNeutral = !b.Wiring.Motors[2].Servo.WithNeutral }))
	assert.NotEqual(t, same, words(func(b *file.Bench) { b.Wiring.Motors[3].DShot.ForwardLower = true }))
}

func TestSlackOfTheThrottle(t *testing.T) {
	late := rig.Timing{Late: 30 * signal.Microsecond, Gap: 10 * signal.Microsecond}
	assert.InDelta(t, 0.04, slackOf(&wire.Pulse{Low: signal.Millisecond, High: 2 * signal.Millisecond, HighValue: 1}, late), 1e-9)
	assert.InDelta(t, 0.08, slackOf(&wire.Pulse{Low: 2 * signal.Millisecond, High: signal.Millisecond, LowValue: -1, HighValue: 1}, late), 1e-9)
	assert.Zero(t, slackOf(&wire.Pulse{}, late), "a bus")
}
