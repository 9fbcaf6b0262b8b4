package wire_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"hilrig/rig/signal"
	"hilrig/stimulus/wire"
)

// steering is a receiver channel as it is common: 1000 to 2000 us every 20 ms. Common
// practice, no source; 50 Hz frames as radio receivers have them.
func steering() wire.Pulse {
	return wire.Pulse{
		Frame: 20 * signal.Millisecond,
		Low:   1000 * signal.Microsecond, High: 2000 * signal.Microsecond,
		LowValue: -0.5, HighValue: 0.5,
	}
}

func pulses(t require.TestingT, cfg wire.Pulse, offset signal.Time) *wire.PulseEncoder {
	e, err := wire.NewPulses(cfg, 7, offset)
	require.NoError(t, err)
	return e
}

func TestPulseWidth(t *testing.T) {
	for _, row := range []struct {
		name  string
		value float64
		want  signal.Time
	}{
		{"low end", -0.5, 1_000_000},
		{"middle", 0, 1_500_000},
		{"high end", 0.5, 2_000_000},
		{"beyond, still linear", 0.6, 2_100_000},
		{"clipped above", 0.9, 2_200_000},
		{"clipped below", -0.9, 800_000},
		{"rounded to the nanosecond", 0.0000004, 1_500_000},
		{"rounded up", 0.0000006, 1_500_001},
		{"infinite", math.Inf(1), 2_200_000},
		{"minus infinite", math.Inf(-1), 800_000},
		{"not a number", math.NaN(), 800_000},
	} {
		t.Run(row.name, func(t *testing.T) {
			assert.Equal(t, row.want, pulses(t, steering(), 0).Width(row.value))
		})
	}
	reversed := steering()
	reversed.Low, reversed.High = reversed.High, reversed.Low
	assert.EqualValues(t, 1_900_000, pulses(t, reversed, 0).Width(-0.4))
}

func TestPulseValueOfIsTheInverse(t *testing.T) {
	e := pulses(t, steering(), 0)
	rapid.Check(t, func(t *rapid.T) {
		w := signal.Time(rapid.Int64Range(800_000, 2_200_000).Draw(t, "width"))
		assert.Equal(t, w, e.Width(e.ValueOf(w)))
	})
}

func TestPulseGridAndLatch(t *testing.T) {
	e := pulses(t, steering(), 300)
	var edges []signal.Edge
	for tick := range signal.Time(45) {
		value := 0.0
		if tick > 0 { // after the first pulse has risen
			value = 0.5
		}
		edges = e.Append(edges, tick*signal.Millisecond, (tick+1)*signal.Millisecond, value)
	}
	assert.Equal(t, []signal.Edge{
		{At: 300, Line: 7, Level: true}, {At: 1_500_300, Line: 7},
		{At: 20_000_300, Line: 7, Level: true}, {At: 22_000_300, Line: 7},
		{At: 40_000_300, Line: 7, Level: true}, {At: 42_000_300, Line: 7},
	}, edges)
}

func TestPulseLost(t *testing.T) {
	e := pulses(t, steering(), 0)
	edges := e.Append(nil, 0, signal.Millisecond, 0)
	e.SetLost(true)
	edges = e.Append(edges, signal.Millisecond, 50*signal.Millisecond, 0)
	e.SetLost(false)
	edges = e.Append(edges, 50*signal.Millisecond, 70*signal.Millisecond, 0)
	assert.Equal(t, []signal.Edge{
		{At: 0, Line: 7, Level: true}, {At: 1_500_000, Line: 7}, // begun before, finished
		{At: 60_000_000, Line: 7, Level: true}, {At: 61_500_000, Line: 7}, // on the old grid
	}, edges)
}

func TestPulseGapsLeaveFramesOut(t *testing.T) {
	e := pulses(t, steering(), 0)
	edges := e.Append(nil, 5*signal.Millisecond, 21*signal.Millisecond, 0)
	edges = e.Append(edges, 65*signal.Millisecond, 85*signal.Millisecond, 0)
	assert.Equal(t, []signal.Edge{
		{At: 20_000_000, Line: 7, Level: true}, {At: 65_000_000, Line: 7},
		{At: 80_000_000, Line: 7, Level: true}, {At: 81_500_000, Line: 7},
	}, edges)
}

func TestPulseSpanEndsAtAnEdge(t *testing.T) {
	e := pulses(t, steering(), 0)
	edges := e.Append(nil, 0, 1_500_000, 0)
	assert.Len(t, edges, 1)
	edges = e.Append(nil, 1_500_000, 20_000_000, 0)
	assert.Equal(t, []signal.Edge{{At: 1_500_000, Line: 7}}, edges)
	edges = e.Append(nil, 20_000_000, 20_000_001, 0)
	assert.Equal(t, []signal.Edge{{At: 20_000_000, Line: 7, Level: true}}, edges)
}

func TestPulseNeverRisesWhereItFalls(t *testing.T) {
	e := pulses(t, steering(), 0)
	edges := e.Append(nil, 0, signal.Millisecond, 0)
	edges = e.Append(edges, 80*signal.Millisecond, 101*signal.Millisecond, 0) // a gap over the fall
	assert.Equal(t, []signal.Edge{
		{At: 0, Line: 7, Level: true}, {At: 80_000_000, Line: 7},
		{At: 100_000_000, Line: 7, Level: true},
	}, edges)
}

func TestPulseCutsAreSeamless(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		offset := signal.Time(rapid.Int64Range(0, 40_000_000).Draw(t, "offset"))
		value := rapid.Float64Range(-1, 1).Draw(t, "value")
		end := 100 * signal.Millisecond
		want := pulses(t, steering(), offset).Append(nil, 0, end, value)
		e := pulses(t, steering(), offset)
		var got []signal.Edge
		for at := signal.Time(0); at < end; {
			to := min(end, at+signal.Time(rapid.Int64Range(1, 30_000_000).Draw(t, "cut")))
			n := len(got)
			got = e.Append(got, at, to, value)
			for _, e := range got[n:] {
				require.True(t, at <= e.At && e.At < to, "edge at %d in [%d, %d)", e.At, at, to)
			}
			at = to
		}
		assert.Equal(t, want, got)
	})
}

func TestPulseRefuses(t *testing.T) {
	for _, row := range []struct {
		name   string
		change func(*wire.Pulse)
		want   string
	}{
		{"no frame", func(p *wire.Pulse) { p.Frame = 0 }, "write a longer frame"},
		{"frame within the pulse", func(p *wire.Pulse) { p.Frame = 2200 * signal.Microsecond }, "write a longer frame"},
		{"low outside", func(p *wire.Pulse) { p.Low = 700 * signal.Microsecond }, "widen the limits"},
		{"high outside", func(p *wire.Pulse) { p.High = 2300 * signal.Microsecond }, "widen the limits"},
		{"one width", func(p *wire.Pulse) { p.High = p.Low }, "two different widths"},
		{"one value", func(p *wire.Pulse) { p.HighValue = p.LowValue }, "two different finite values"},
		{"no number", func(p *wire.Pulse) { p.HighValue = math.NaN() }, "two different finite values"},
		{"limits swapped", func(p *wire.Pulse) { p.Least, p.Most = 3, 2 }, "the shorter first"},
		{"negative limit", func(p *wire.Pulse) { p.Least = -1 }, "the shorter first"},
	} {
		t.Run(row.name, func(t *testing.T) {
			p := steering()
			row.change(&p)
			_, err := wire.NewPulses(p, 0, 0)
			assert.ErrorContains(t, err, row.want)
		})
	}
	_, err := wire.NewPulses(steering(), 0, -1)
	assert.ErrorContains(t, err, "begin at 0 s or later")
}

func TestPulseAllocatesNothing(t *testing.T) {
	e := pulses(t, steering(), 0)
	edges := make([]signal.Edge, 0, 10)
	at := signal.Time(0)
	assert.Zero(t, testing.AllocsPerRun(100, func() {
		edges = e.Append(edges[:0], at, at+signal.Millisecond, 0.1)
		at += signal.Millisecond
	}))
}
