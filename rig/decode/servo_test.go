package decode_test

import (
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"hilrig/rig/decode"
	"hilrig/rig/signal"
	"hilrig/rig/trace"
)

const (
	us = signal.Microsecond
	ms = signal.Millisecond
)

// oneWay is a motor command as speed controllers commonly take it: 1000 to 2000 us.
func oneWay() decode.Servo { return decode.Servo{Idle: 1000 * us, Full: 2000 * us} }

func servo(t require.TestingT, cfg decode.Servo) *decode.ServoDecoder {
	d, err := decode.NewServo(cfg)
	require.NoError(t, err)
	return d
}

func rise(at signal.Time, late uint32) signal.Edge {
	return signal.Edge{At: at, Uncertainty: late, Level: true}
}
func fall(at signal.Time, late uint32) signal.Edge { return signal.Edge{At: at, Uncertainty: late} }

// read feeds edges and returns what they gave.
func read(d *decode.ServoDecoder, edges ...signal.Edge) (out trace.Output) {
	for _, e := range edges {
		d.Edge(e, &out)
	}
	return out
}

func TestServoValue(t *testing.T) {
	neutral := decode.Servo{Idle: 1500 * us, Full: 2000 * us, WithNeutral: true}
	downward := decode.Servo{Idle: 2000 * us, Full: 1000 * us}
	shorter := decode.Servo{Idle: 125 * us, Full: 250 * us, Least: 100 * us, Most: 300 * us}
	for _, row := range []struct {
		name  string
		cfg   decode.Servo
		width signal.Time
		want  float64
	}{
		{"idle", oneWay(), 1000 * us, 0},
		{"half", oneWay(), 1500 * us, 0.5},
		{"full", oneWay(), 2000 * us, 1},
		{"beyond full is said", oneWay(), 2100 * us, 1.1},
		{"below idle is said", oneWay(), 950 * us, -0.05},
		{"neutral", neutral, 1500 * us, 0},
		{"neutral, full ahead", neutral, 2000 * us, 1},
		{"neutral, full back", neutral, 1000 * us, -1},
		{"full is shorter", downward, 1250 * us, 0.75},
		{"an eighth of the time", shorter, 200 * us, 0.6},
	} {
		t.Run(row.name, func(t *testing.T) {
			out := read(servo(t, row.cfg), rise(5*ms, 0), fall(5*ms+row.width, 0))
			require.Len(t, out.Frames, 1)
			assert.Empty(t, out.Events)
			f := out.Frames[0]
			assert.InDelta(t, row.want, f.Value, 1e-12)
			assert.Zero(t, f.Uncertainty)
			assert.Equal(t, 5*ms, f.Start)
			assert.Equal(t, 5*ms+row.width, f.End)
		})
	}
}

func TestServoInverted(t *testing.T) {
	cfg := oneWay()
	cfg.Inverted = true
	out := read(servo(t, cfg), fall(5*ms, 0), rise(6500*us, 0), fall(25*ms, 0))
	require.Len(t, out.Frames, 1)
	assert.InDelta(t, 0.5, out.Frames[0].Value, 1e-12)
}

// A pulse with uncertainty: centre and half-width hold the true width, whichever way the sampler was late.
func TestServoUncertainty(t *testing.T) {
	out := read(servo(t, oneWay()), rise(5*ms, 4000), fall(6500*us, 1000))
	require.Len(t, out.Frames, 1)
	// The width lies from 1499 to 1504 us.
	assert.InDelta(t, 0.5015, out.Frames[0].Value, 1e-12)
	assert.InDelta(t, 0.0025, out.Frames[0].Uncertainty, 1e-12)
	rapid.Check(t, func(t *rapid.T) {
		late := rapid.Uint32Range(0, 19_000)
		width := signal.Time(rapid.Int64Range(900_000, 2_100_000).Draw(t, "width"))
		r := rise(5*ms, late.Draw(t, "rise late"))
		f := fall(5*ms+width, late.Draw(t, "fall late"))
		// Where in their gaps the edges truly were.
		trueRise := r.At - signal.Time(rapid.Uint32Range(0, r.Uncertainty).Draw(t, "rise early"))
		trueFall := f.At - signal.Time(rapid.Uint32Range(0, f.Uncertainty).Draw(t, "fall early"))
		out := read(servo(t, oneWay()), r, f)
		require.Len(t, out.Frames, 1)
		want := float64(trueFall-trueRise)/1e6 - 1
		assert.LessOrEqual(t, want, out.Frames[0].Value+out.Frames[0].Uncertainty+1e-12)
		assert.GreaterOrEqual(t, want, out.Frames[0].Value-out.Frames[0].Uncertainty-1e-12)
	})
}

func TestServoEvents(t *testing.T) {
	for _, row := range []struct {
		name   string
		edges  []signal.Edge
		events []trace.Event
		frames int
	}{
		{"short", []signal.Edge{rise(1*ms, 0), fall(1499*us, 0)}, []trace.Event{{At: 1499 * us, Kind: trace.Short}}, 0},
		{"least", []signal.Edge{rise(1*ms, 0), fall(1500*us, 0)}, nil, 1},
		{"most", []signal.Edge{rise(1*ms, 0), fall(3500*us, 0)}, nil, 1},
		{"overlong", []signal.Edge{rise(1*ms, 0), fall(3501*us, 0)}, []trace.Event{{At: 3501 * us, Kind: trace.Overlong}}, 0},
		{"short by its centre", []signal.Edge{rise(1*ms, 2000), fall(1500*us, 6000)}, []trace.Event{{At: 1500 * us, Kind: trace.Short}}, 0},
		{"overlong by its centre", []signal.Edge{rise(1*ms, 6000), fall(3500*us, 2000)}, []trace.Event{{At: 3500 * us, Kind: trace.Overlong}}, 0},
		{"uncertain", []signal.Edge{rise(1*ms, 40_000), fall(2500*us, 2000)}, []trace.Event{{At: 2500 * us, Kind: trace.Uncertain}}, 0},
		{"just certain enough", []signal.Edge{rise(1*ms, 38_000), fall(2500*us, 2000)}, nil, 1},
		{"short beyond its uncertainty", []signal.Edge{rise(1*ms, 200_000), fall(1100*us, 0)}, []trace.Event{{At: 1100 * us, Kind: trace.Short}}, 0},
		{"overlong beyond its uncertainty", []signal.Edge{rise(1*ms, 0), fall(9*ms, 200_000)}, []trace.Event{{At: 9 * ms, Kind: trace.Overlong}}, 0},
		{"short just beyond its uncertainty", []signal.Edge{rise(1*ms, 200_000), fall(1299*us, 0)}, []trace.Event{{At: 1299 * us, Kind: trace.Short}}, 0},
		{"short or not", []signal.Edge{rise(1*ms, 200_000), fall(1300*us, 0)}, []trace.Event{{At: 1300 * us, Kind: trace.Uncertain}}, 0},
		{"overlong just beyond its uncertainty", []signal.Edge{rise(1*ms, 0), fall(3701*us, 200_000)}, []trace.Event{{At: 3701 * us, Kind: trace.Overlong}}, 0},
		{"overlong or not", []signal.Edge{rise(1*ms, 0), fall(3700*us, 200_000)}, []trace.Event{{At: 3700 * us, Kind: trace.Uncertain}}, 0},
		{"backwards", []signal.Edge{rise(2*ms, 0), fall(1*ms, 0), fall(3500*us, 0)}, []trace.Event{{At: 2 * ms, Kind: trace.Backwards}}, 1},
		{"begins in a pulse", []signal.Edge{fall(1*ms, 0), rise(2*ms, 0), fall(3500*us, 0)}, nil, 1},
		{"a fall missed", []signal.Edge{rise(1*ms, 0), rise(21*ms, 0), fall(22500*us, 0)}, nil, 1},
		{"a rise missed", []signal.Edge{rise(1*ms, 0), fall(2500*us, 0), fall(22500*us, 0)}, nil, 1},
		{"no width", []signal.Edge{rise(1*ms, 0), fall(1*ms, 0)}, []trace.Event{{At: 1 * ms, Kind: trace.Short}}, 0},
	} {
		t.Run(row.name, func(t *testing.T) {
			out := read(servo(t, oneWay()), row.edges...)
			assert.Equal(t, row.events, out.Events)
			assert.Len(t, out.Frames, row.frames)
		})
	}
}

func TestServoLost(t *testing.T) {
	d := servo(t, oneWay())
	var out trace.Output
	d.Until(50*ms, &out) // begins here
	d.Until(150*ms, &out)
	assert.Empty(t, out.Events)
	for at := 151 * ms; at < 400*ms; at += ms {
		d.Until(at, &out)
	}
	assert.Equal(t, []trace.Event{{At: 150 * ms, Kind: trace.Lost}}, out.Events, "once")

	// A pulse that is no good does not end the loss; a good one does, and the next
	// loss counts from its end.
	d.Edge(rise(400*ms, 0), &out)
	d.Edge(fall(400*ms+100*us, 0), &out)
	d.Until(700*ms, &out)
	assert.Len(t, out.Events, 2)
	d.Edge(rise(700*ms, 0), &out)
	d.Edge(fall(701*ms, 0), &out)
	d.Edge(rise(900*ms, 0), &out) // noticed at an edge, too
	require.Len(t, out.Events, 3)
	assert.Equal(t, trace.Event{At: 801 * ms, Kind: trace.Lost}, out.Events[2])

	d.Reset(1000 * ms)
	d.Edge(fall(1001*ms, 0), &out)
	assert.Len(t, out.Frames, 1, "the pulse before the reset is forgotten")
	d.Until(1101*ms, &out)
	require.Len(t, out.Events, 4)
	assert.Equal(t, trace.Event{At: 1100 * ms, Kind: trace.Lost}, out.Events[3])
}

func TestServoUncertainIsNotLost(t *testing.T) {
	d := servo(t, oneWay())
	var out trace.Output
	for at := signal.Time(0); at < 500*ms; at += 20 * ms {
		d.Edge(rise(at, 900_000), &out)
		d.Edge(fall(at+1500*us, 0), &out)
	}
	for _, e := range out.Events {
		assert.Equal(t, trace.Uncertain, e.Kind)
	}
	assert.Len(t, out.Events, 25)
}

func TestServoRefuses(t *testing.T) {
	for _, row := range []struct {
		name string
		cfg  decode.Servo
		want string
	}{
		{"nothing declared", decode.Servo{}, "two different widths"},
		{"idle too short", decode.Servo{Idle: 125 * us, Full: 1000 * us}, "pulse width 0.000125 s lies outside"},
		{"full too long", decode.Servo{Idle: 1000 * us, Full: 3000 * us}, "widen the limits"},
		{"no room to go back", decode.Servo{Idle: 900 * us, Full: 1900 * us, WithNeutral: true}, "widen the limits"},
		{"limits", decode.Servo{Idle: 1, Full: 2, Least: 5, Most: 4}, "the shorter first"},
		{"loss", decode.Servo{Idle: 1000 * us, Full: 2000 * us, LostAfter: 2 * ms}, "write a longer time"},
		{"uncertainty", decode.Servo{Idle: 1000 * us, Full: 2000 * us, MaxUncertainty: -1}, "above 0"},
		{"step", decode.Servo{Idle: 1000 * us, Full: 2000 * us, Step: -1}, "0 s or more"},
	} {
		t.Run(row.name, func(t *testing.T) {
			_, err := decode.NewServo(row.cfg)
			assert.ErrorContains(t, err, row.want)
		})
	}
}

func TestCommandStep(t *testing.T) {
	for _, row := range []struct {
		name string
		cfg  decode.Servo
		want float64
	}{
		{"1 us of 1000", oneWay(), 0.001},
		{"1 us of 500, with a neutral", decode.Servo{Idle: 1500 * us, Full: 2000 * us, WithNeutral: true}, 0.002},
		{"1 us of 1250", decode.Servo{Idle: 800 * us, Full: 2050 * us}, 0.0008},
		{"an eighth of the time", decode.Servo{Idle: 125 * us, Full: 250 * us}, 0.001},
		{"declared", decode.Servo{Idle: 2000 * us, Full: 1000 * us, Step: 8 * us}, 0.008},
		{"no range", decode.Servo{}, 0},
	} {
		t.Run(row.name, func(t *testing.T) {
			assert.InDelta(t, row.want, row.cfg.CommandStep(), 1e-12)
		})
	}
}

func TestServoAllocatesNothing(t *testing.T) {
	d := servo(t, oneWay())
	out := trace.Output{Frames: make([]trace.Frame, 0, 1000)}
	at := signal.Time(0)
	assert.Zero(t, testing.AllocsPerRun(100, func() {
		out.Frames = out.Frames[:0]
		d.Edge(rise(at, 5), &out)
		d.Edge(fall(at+1500*us, 5), &out)
		at += 20 * ms
		d.Until(at, &out)
	}))
}

// ordered fails unless frames and events stand in order of time.
func ordered(t require.TestingT, out *trace.Output) {
	for i := 1; i < len(out.Frames); i++ {
		require.LessOrEqual(t, out.Frames[i-1].End, out.Frames[i].End)
	}
	for i := 1; i < len(out.Events); i++ {
		require.LessOrEqual(t, out.Events[i-1].At, out.Events[i].At)
	}
}

// stream is a random stream of edges: mostly forward in time, any lateness, any level.
func stream(seed uint64, n int, scale int64) []signal.Edge {
	r := rand.New(rand.NewPCG(seed, 1))
	edges := make([]signal.Edge, n)
	at := signal.Time(0)
	for i := range edges {
		at += signal.Time(r.Int64N(scale))
		if r.IntN(20) == 0 {
			at -= signal.Time(r.Int64N(scale))
		}
		edges[i] = signal.Edge{At: at, Uncertainty: uint32(r.Int64N(scale)), Line: signal.Line(r.IntN(2)), Level: r.IntN(2) == 0}
	}
	return edges
}

func FuzzServo(f *testing.F) {
	f.Add(uint64(1), uint16(200), int64(3_000_000), false)
	f.Add(uint64(2), uint16(50), int64(200_000_000), true)
	f.Add(uint64(3), uint16(50), int64(1<<62), true)
	f.Fuzz(func(t *testing.T, seed uint64, n uint16, scale int64, inverted bool) {
		cfg := oneWay()
		cfg.Inverted = inverted
		d := servo(t, cfg)
		var out trace.Output
		for i, e := range stream(seed, int(n), max(scale, 1)) {
			d.Edge(e, &out)
			if i%3 == 0 {
				d.Until(e.At+5*ms, &out)
			}
		}
		if scale < 1<<40 { // no time beyond what 64 bits hold
			ordered(t, &out)
		}
		for _, frame := range out.Frames {
			require.GreaterOrEqual(t, frame.Value, -0.5)
			require.LessOrEqual(t, frame.Value, 1.5)
			require.LessOrEqual(t, frame.Uncertainty, 0.02)
		}
	})
}
