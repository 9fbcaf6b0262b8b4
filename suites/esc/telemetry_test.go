package esc

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig/decode"
	"hilrig/rig/signal"
)

// Telemetry that says the same at a third of throttle more is stuck; at the same command it may say the same for long.
func TestStuckAndImpossibleTelemetryIsAnEvent(t *testing.T) {
	decoder, err := decode.NewESCTelemetry(decode.Telemetry{})
	require.NoError(t, err)
	one := telemetry{decoder: decoder, pairs: 7}
	var e events
	at := signal.Time(0)
	frame := func(command, volts float64) {
		at += 20 * signal.Millisecond
		one.out.Frames = append(one.out.Frames, decode.TelemetryFrame{At: at, Voltage: volts, Current: 3, ElectricalSpeed: 100})
		one.until(at, command, &e)
	}
	for range 100 {
		frame(0.3, 7.2)
	}
	assert.Empty(t, e.list)
	assert.False(t, one.stuck())
	for range stuckAfter {
		frame(0.6, 7.2)
	}
	require.Len(t, e.list, 1)
	assert.Contains(t, e.list[0].Text, "stuck")
	assert.True(t, one.stuck())
	frame(0.6, 7.1)
	assert.False(t, one.stuck())
	heard := len(one.recorded)
	frame(0.6, 300)
	assert.Len(t, one.recorded, heard, "what cannot be is left out")
	assert.Contains(t, e.list[1].Text, "what cannot be")
}
