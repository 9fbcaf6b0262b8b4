package decode_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"hilrig/rig/decode"
	"hilrig/rig/signal"
	"hilrig/rig/trace"
)

func tacho(t require.TestingT, cfg decode.Tacho) *decode.TachoDecoder {
	d, err := decode.NewTacho(cfg)
	require.NoError(t, err)
	d.Reset(0)
	return d
}

func TestTachoRate(t *testing.T) {
	for _, row := range []struct {
		name   string
		pulses int
		period signal.Time
		want   float64 // rad/s
	}{
		{"a turn a second", 1, signal.Second / 2, 4 * math.Pi},
		{"six pulses", 6, ms, 2 * math.Pi / 6 * 1000},
		{"256 pulses", 256, 100 * us, 2 * math.Pi / 256 * 10_000},
	} {
		t.Run(row.name, func(t *testing.T) {
			for _, inverted := range []bool{false, true} {
				d := tacho(t, decode.Tacho{Pulses: row.pulses, Inverted: inverted})
				var out trace.Output
				for i := range signal.Time(4) {
					at := ms + i*row.period
					d.Edge(signal.Edge{At: at, Level: !inverted}, &out)
					d.Edge(signal.Edge{At: at + row.period/3, Level: inverted}, &out)
				}
				require.Len(t, out.Frames, 3)
				assert.Empty(t, out.Events)
				for _, f := range out.Frames {
					assert.InEpsilon(t, row.want, f.Value, 1e-12)
					assert.Zero(t, f.Uncertainty)
					assert.Equal(t, row.period, f.End-f.Start)
				}
			}
		})
	}
}

// Whatever the sampler left open, the true rate is within the uncertainty.
func TestTachoUncertainty(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		late := rapid.Uint32Range(0, 19_000)
		period := signal.Time(rapid.Int64Range(1_000_000, 20_000_000).Draw(t, "period"))
		first, second := rise(ms, late.Draw(t, "first late")), rise(ms+period, late.Draw(t, "second late"))
		truth := second.At - signal.Time(rapid.Uint32Range(0, second.Uncertainty).Draw(t, "second early")) -
			first.At + signal.Time(rapid.Uint32Range(0, first.Uncertainty).Draw(t, "first early"))
		d := tacho(t, decode.Tacho{Pulses: 4})
		var out trace.Output
		for _, e := range []signal.Edge{first, fall(ms+50*us, 0), second} {
			d.Edge(e, &out)
		}
		require.Len(t, out.Frames, 1)
		want := 2 * math.Pi / 4 / truth.Seconds()
		assert.InDelta(t, want, out.Frames[0].Value, out.Frames[0].Uncertainty+1e-9)
	})
}

func TestTachoEvents(t *testing.T) {
	d := tacho(t, decode.Tacho{Pulses: 1, LostAfter: 100 * ms})
	var out trace.Output
	for _, e := range []signal.Edge{
		rise(10*ms, 0), fall(11*ms, 0), rise(20*ms, 0), fall(21*ms, 0),
		{At: 25 * ms, Uncertainty: 1e6}, rise(30*ms, 0), fall(31*ms, 0), // a gap: there may have been a pulse
		rise(40*ms, 5_000_000), fall(41*ms, 0), // too late to be of use
		rise(39*ms, 0),
	} {
		d.Edge(e, &out)
	}
	assert.Len(t, out.Frames, 1)
	assert.Equal(t, []trace.EventKind{trace.Uncertain, trace.Uncertain, trace.Backwards}, kinds(out.Events))
	out = trace.Output{}
	for at := 42 * ms; at < 400*ms; at += ms {
		d.Until(at, &out)
	}
	assert.Equal(t, []trace.Event{{At: 140 * ms, Kind: trace.Lost}}, out.Events, "once")
	// The time of a standstill is no period.
	d.Edge(rise(400*ms, 0), &out)
	assert.Empty(t, out.Frames)
}

func TestTachoRefuses(t *testing.T) {
	for _, cfg := range []decode.Tacho{{}, {Pulses: 200_000}, {Pulses: 1, LostAfter: -1}, {Pulses: 1, MaxUncertainty: 2}} {
		_, err := decode.NewTacho(cfg)
		assert.Error(t, err)
	}
}

func TestTachoAllocatesNothing(t *testing.T) {
	d := tacho(t, decode.Tacho{Pulses: 6})
	out := trace.Output{Frames: make([]trace.Frame, 0, 2)}
	at := ms
	assert.Zero(t, testing.AllocsPerRun(100, func() {
		out.Frames = out.Frames[:0]
		d.Edge(rise(at, 100), &out)
		d.Edge(fall(at+300*us, 100), &out)
		at += ms
		d.Until(at, &out)
	}))
}

func FuzzTacho(f *testing.F) {
	f.Add(uint64(1), uint16(300), int64(3_000_000))
	f.Add(uint64(3), uint16(50), int64(1<<62))
	f.Fuzz(func(t *testing.T, seed uint64, n uint16, scale int64) {
		d := tacho(t, decode.Tacho{Pulses: 6})
		var out trace.Output
		for i, e := range stream(seed, int(n%3000), max(scale, 1)) {
			d.Edge(e, &out)
			if i%5 == 0 {
				d.Until(e.At+ms, &out)
			}
		}
		if scale < 1<<40 {
			ordered(t, &out)
		}
		for _, frame := range out.Frames {
			require.False(t, math.IsNaN(frame.Value) || math.IsInf(frame.Value, 0))
			require.GreaterOrEqual(t, frame.Value, 0.0)
		}
	})
}
