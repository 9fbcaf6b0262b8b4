package wire_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"hilrig/plant/portable"
	"hilrig/rig/signal"
	"hilrig/stimulus/wire"
)

var (
	tacho6 = wire.WheelSensor{Kind: wire.TachoWheel, Tacho: wire.Tacho{Pulses: 6}}
	// duty14 is a 14-bit angle sensor with 1 kHz pulses; its numbers are invented.
	duty14 = wire.WheelSensor{Kind: wire.DutyWheel, Duty: wire.Duty{Period: signal.Millisecond, Least: 0.05, Most: 0.95, Steps: 16384}}
	quad   = wire.WheelSensor{Quadrature: wire.Quadrature{Lines: 256, Index: true}}
)

func wheelEncoder(t testing.TB, s wire.WheelSensor) wire.WheelEncoder {
	lines := make([]signal.Line, len(s.Wires()))
	for i := range lines {
		lines[i] = signal.Line(10 + i)
	}
	e, err := s.New(lines...)
	require.NoError(t, err)
	assert.Equal(t, lines, e.Lines())
	return e
}

func TestWheelSensorNamesItsWires(t *testing.T) {
	assert.Equal(t, []signal.Role{signal.EncoderA, signal.EncoderB, signal.EncoderIndex}, quad.Wires())
	assert.Equal(t, []signal.Role{signal.EncoderA, signal.EncoderB}, wire.WheelSensor{Quadrature: wire.Quadrature{Lines: 1}}.Wires())
	assert.Equal(t, []signal.Role{signal.Tacho}, tacho6.Wires())
	assert.Equal(t, []signal.Role{signal.Duty}, duty14.Wires())
	for i, word := range []string{"quadrature", "tacho", "duty", "unknown"} {
		assert.Equal(t, word, wire.WheelKind(i).String())
	}
}

// What is wrong is said, and nothing is made.
func TestWheelSensorErrors(t *testing.T) {
	duty := func(change func(*wire.Duty)) wire.WheelSensor {
		s := duty14
		change(&s.Duty)
		return s
	}
	for _, row := range []struct {
		name   string
		sensor wire.WheelSensor
		want   string
	}{
		{"kind", wire.WheelSensor{Kind: 7}, "kind 7"},
		{"quadrature", wire.WheelSensor{}, "encoder of 0 lines"},
		{"tacho without pulses", wire.WheelSensor{Kind: wire.TachoWheel}, "tacho of 0 pulses"},
		{"period", duty(func(d *wire.Duty) { d.Period = 0 }), "period of 0 s"},
		{"shares the wrong way round", duty(func(d *wire.Duty) { d.Least, d.Most = 0.9, 0.1 }), "duty of 0.9 to 0.1"},
		{"share of 1", duty(func(d *wire.Duty) { d.Most = 1 }), "duty of 0.05 to 1"},
		{"share is NaN", duty(func(d *wire.Duty) { d.Least = math.NaN() }), "duty of NaN"},
		{"steps", duty(func(d *wire.Duty) { d.Steps = 1 }), "duty sensor of 1 steps"},
		{"noise", duty(func(d *wire.Duty) { d.Noise = -1 }), "noise of -1 rad"},
		{"steps below a nanosecond", duty(func(d *wire.Duty) { d.Period = 10 * signal.Microsecond }), "at least 1 ns wide"},
	} {
		t.Run(row.name, func(t *testing.T) {
			e, err := row.sensor.New(make([]signal.Line, len(row.sensor.Wires()))...)
			require.Error(t, err)
			assert.Contains(t, err.Error(), row.want)
			assert.Nil(t, e)
		})
	}
	_, err := tacho6.New(1, 2)
	assert.ErrorContains(t, err, "on 2 lines")
}

// A wheel that turns once in 60 ms gives a tacho of 6 pulses a rise every 10 ms,
// half of it high, either way round.
func TestTachoPulses(t *testing.T) {
	for _, omega := range []float64{2 * math.Pi / 0.06, -2 * math.Pi / 0.06} {
		e := wheelEncoder(t, tacho6)
		edges := e.Append(nil, 0, signal.Second, omega)
		require.Len(t, edges, 200)
		for i, edge := range edges {
			assert.Equal(t, signal.Line(10), edge.Line)
			assert.Equal(t, i%2 == 0, edge.Level)
			assert.InDelta(t, 2.5e6+5e6*float64(i), float64(edge.At), 2)
		}
		assert.Equal(t, 200.0, math.Round(tacho6.EdgeRate(omega)))
		assert.False(t, e.Level(10))
	}
}

// Width tells the angle: k steps of a turn are k/16384 of the span, exact to half
// a nanosecond, wherever the wheel stands.
func TestDutyGivesTheAngle(t *testing.T) {
	e := wheelEncoder(t, duty14)
	const omega = 41.7 // rad/s
	edges := e.Append(nil, 0, 3*signal.Second, omega)
	require.Len(t, edges, 6000)
	for i := 0; i < len(edges); i += 2 {
		rise, fall := edges[i], edges[i+1]
		require.True(t, rise.Level && !fall.Level)
		require.Equal(t, signal.Time(i/2)*signal.Millisecond, rise.At)
		turn := omega * rise.At.Seconds() / (2 * math.Pi)
		step := math.Floor((turn - math.Floor(turn)) * 16384)
		want := (0.05 + 0.9*step/16384) * 1e6
		got := float64(fall.At - rise.At)
		// A hair off a step's boundary the two sums may differ by a step of 54.9 ns.
		require.InDelta(t, want, got, 56, "pulse %d", i/2)
	}
	assert.InDelta(t, 2000, duty14.EdgeRate(omega), 1e-9)
}

func TestDutyReversedFalls(t *testing.T) {
	s := duty14
	s.Duty.Reverse = true
	e := wheelEncoder(t, s)
	edges := e.Append(nil, 0, 2*signal.Millisecond, 2*math.Pi/0.016) // a sixteenth of a turn a pulse
	require.Len(t, edges, 4)
	assert.InDelta(t, 0.05e6+0.9e6*15/16, float64(edges[3].At-edges[2].At), 56)
}

func TestDutyLostStuckAndNoisy(t *testing.T) {
	e := wheelEncoder(t, duty14).(*wire.DutyEncoder)
	noise := portable.NewNoise(1, "angle")
	e.SetNoise(&noise)
	widths := func(from, to signal.Time) map[signal.Time]int {
		seen := map[signal.Time]int{}
		var rise signal.Time
		for _, edge := range e.Append(nil, from, to, 0) {
			if edge.Level {
				rise = edge.At
			} else {
				seen[edge.At-rise]++
			}
		}
		return seen
	}
	const ms = signal.Millisecond
	assert.Greater(t, len(widths(0, 200*ms)), 3, "a wheel that stands still has the sensor's noise")
	e.SetStuck(true)
	assert.Len(t, widths(200*ms, 400*ms), 1)
	e.SetStuck(false)
	e.SetLost(true)
	assert.LessOrEqual(t, len(widths(400*ms, 600*ms)), 1)
	assert.False(t, e.Level(10))
	e.SetLost(false)
	assert.Greater(t, len(widths(600*ms, 800*ms)), 3)
}

// However time is cut, the edges are the same, alternate and never go back.
func TestWheelSensorsDoNotDependOnTheCut(t *testing.T) {
	for _, s := range []wire.WheelSensor{quad, tacho6, duty14} {
		t.Run(s.Kind.String(), func(t *testing.T) {
			rapid.Check(t, func(rt *rapid.T) {
				whole, cut := wheelEncoder(t, s), wheelEncoder(t, s)
				var a, b []signal.Edge
				at := signal.Time(0)
				for range rapid.IntRange(1, 5).Draw(rt, "spans") {
					omega := rapid.Float64Range(-300, 300).Draw(rt, "omega")
					to := at + signal.Time(rapid.Int64Range(1, 5e6).Draw(rt, "span"))
					a = whole.Append(a, at, to, omega)
					middle := at + signal.Time(rapid.Int64Range(0, int64(to-at)).Draw(rt, "cut"))
					b = cut.Append(b, at, middle, omega)
					b = cut.Append(b, middle, to, omega)
					at = to
				}
				require.Equal(rt, a, b)
				level := map[signal.Line]bool{}
				last := signal.Time(-1)
				for _, e := range a {
					require.NotEqual(rt, level[e.Line], e.Level)
					require.Greater(rt, e.At, last)
					level[e.Line], last = e.Level, e.At
				}
				for _, l := range whole.Lines() {
					require.Equal(rt, level[l], whole.Level(l))
				}
			})
		})
	}
}

func TestWheelSensorsAllocateNothing(t *testing.T) {
	for _, s := range []wire.WheelSensor{quad, tacho6, duty14} {
		e := wheelEncoder(t, s)
		edges := make([]signal.Edge, 0, 1000)
		at := signal.Time(0)
		assert.Zero(t, testing.AllocsPerRun(100, func() {
			edges = e.Append(edges[:0], at, at+signal.Millisecond, 100)
			at += signal.Millisecond
		}), s.Kind)
	}
}
