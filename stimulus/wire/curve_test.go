package wire_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"hilrig/rig/signal"
	"hilrig/stimulus/wire"
)

func TestCurveAndItsInverse(t *testing.T) {
	c, ok := wire.NewCurve([]wire.CurvePoint{{-1, -2}, {0, 0}, {1, 0.5}})
	require.True(t, ok)
	for value, mapped := range map[float64]float64{-2: -4, -1: -2, -0.5: -1, 0: 0, 0.5: 0.25, 2: 1} {
		assert.InDelta(t, mapped, c.Mapped(value), 1e-12)
	}
	rapid.Check(t, func(t *rapid.T) {
		x := rapid.Float64Range(-3, 3).Draw(t, "x")
		assert.InDelta(t, x, c.Value(c.Mapped(x)), 1e-12)
	})
	var none *wire.Curve
	assert.Equal(t, 0.3, none.Mapped(0.3))
	assert.Equal(t, 0.3, none.Value(0.3))
	for _, wrong := range [][]wire.CurvePoint{nil, {{0, 0}}, {{0, 0}, {0, 1}}, {{0, 0}, {1, 0}}, {{1, 1}, {0, 0}}} {
		_, ok := wire.NewCurve(wrong)
		assert.False(t, ok, "%v", wrong)
	}
}

// A mapped steering channel: what the pulse, or the count, stands for comes back as it was.
func TestAMappedChannelComesBack(t *testing.T) {
	c, _ := wire.NewCurve([]wire.CurvePoint{{-0.5, -0.4}, {0, 0}, {0.6, 0.4}})
	e, err := wire.NewPulses(wire.Pulse{Frame: 10 * signal.Millisecond, Low: signal.Millisecond, High: 2 * signal.Millisecond, LowValue: -0.4, HighValue: 0.4, Curve: c}, 0, 0)
	require.NoError(t, err)
	assert.EqualValues(t, 2*signal.Millisecond, e.Width(0.6))
	assert.EqualValues(t, 1750*signal.Microsecond, e.Width(0.3))
	assert.InDelta(t, 0.3, e.ValueOf(e.Width(0.3)), 1e-6)
	assert.InDelta(t, -0.25, e.Mirrored(0.3), 1e-12, "as far on the other side on the wire")

	b := wire.BusChannel{Number: 1, Low: 0, High: 2000, LowValue: -0.4, HighValue: 0.4, Curve: c}
	assert.InDelta(t, 1500, b.Count(0.3), 1e-9)
	assert.InDelta(t, 0.3, b.ValueOf(1500), 1e-12)
	assert.InDelta(t, -0.25, b.Mirrored(0.3), 1e-12)
	bus := wire.Bus{Port: "bus", Period: 10 * signal.Millisecond, Steer: b}
	cfg, err := bus.Frame()
	require.NoError(t, err)
	f := frames(t, cfg, &still{}, 0)
	f.Build(nil, []float64{0.3})
	assert.InDelta(t, 0.3, f.Said()[0], 1e-3)
}
