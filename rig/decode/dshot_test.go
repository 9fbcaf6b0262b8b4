package decode_test

import (
	"encoding/json"
	"os"
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"hilrig/rig/decode"
	"hilrig/rig/signal"
	"hilrig/rig/trace"
)

func dshot(t require.TestingT, cfg decode.DShot) *decode.DShotDecoder {
	d, err := decode.NewDShot(cfg)
	require.NoError(t, err)
	d.Reset(0)
	return d
}

// digitalVector is a row of testdata/dshot.json.
type digitalVector struct {
	Value     uint16
	Telemetry uint16
	Frame     string
	Inverted  string `json:"bidirectional_frame"`
}

// digitalTiming is a row of its timings.
type digitalTiming struct {
	Rate int     `json:"rate_kbit"`
	Bit  float64 `json:"bit_us"`
	One  float64 `json:"T1H_us"`
	Zero float64 `json:"T0H_us"`
}

// digitalReference is what the outside says of the frames.
type digitalReference struct {
	Source  []string        `json:"source"`
	Vectors []digitalVector `json:"dshot"`
	Timings []digitalTiming `json:"dshot_timing"`
}

func reference(t testing.TB) (r digitalReference) {
	data, err := os.ReadFile("testdata/dshot.json")
	require.NoError(t, err)
	require.NoError(t, json.Unmarshal(data, &r))
	return r
}

func (r *digitalReference) timing(t testing.TB, rate int) digitalTiming {
	for _, x := range r.Timings {
		if x.Rate == rate {
			return x
		}
	}
	require.Fail(t, "no such rate")
	return digitalTiming{}
}

// bits appends the edges of a frame of n bits of word, the first on top, by the
// published timings.
func (x digitalTiming) bits(dst []signal.Edge, at signal.Time, word uint32, n int, inverted bool) []signal.Edge {
	for i := range n {
		begin := float64(at) + float64(i)*x.Bit*1000
		high := x.Zero
		if word>>(n-1-i)&1 == 1 {
			high = x.One
		}
		dst = append(dst, signal.Edge{At: signal.Time(begin), Level: !inverted},
			signal.Edge{At: signal.Time(begin + high*1000), Level: inverted})
	}
	return dst
}

// frameOf returns the frame of a value, by the published rule: the checksum is
// (v ^ v>>4 ^ v>>8) & 0xF of the upper twelve bits, inverted where the line is.
func frameOf(value uint32, inverted bool) uint32 {
	v := value << 1
	sum := (v ^ v>>4 ^ v>>8) & 0xF
	if inverted {
		sum ^= 0xF
	}
	return v<<4 | sum
}

func readDigital(d *decode.DShotDecoder, edges []signal.Edge) (out trace.Output) {
	for _, e := range edges {
		d.Edge(e, &out)
	}
	if len(edges) > 0 {
		d.Until(edges[len(edges)-1].At+20*us, &out)
	}
	return out
}

func TestDShotReference(t *testing.T) {
	r := reference(t)
	require.Len(t, r.Vectors, 9)
	for _, rate := range []int{150, 300, 600} {
		for _, v := range r.Vectors {
			for _, inverted := range []bool{false, true} {
				text := v.Frame
				if inverted {
					text = v.Inverted
				}
				t.Run(strconv.Itoa(rate)+" "+text, func(t *testing.T) {
					word, err := strconv.ParseUint(text, 0, 16)
					require.NoError(t, err)
					edges := r.timing(t, rate).bits(nil, ms, uint32(word), 16, inverted)
					out := readDigital(dshot(t, decode.DShot{Rate: rate, Inverted: inverted}), edges)
					switch {
					case v.Value == 0:
						require.Len(t, out.Events, 1, r.Source)
						assert.Equal(t, trace.Stop, out.Events[0].Kind)
					case v.Value < 48:
						require.Len(t, out.Events, 1, r.Source)
						assert.Equal(t, trace.Command, out.Events[0].Kind)
					default:
						assert.Empty(t, out.Events, r.Source)
						require.Len(t, out.Frames, 1, r.Source)
						assert.InDelta(t, float64(v.Value-48)/1999, out.Frames[0].Value, 1e-12)
						assert.Zero(t, out.Frames[0].Uncertainty)
						assert.Equal(t, ms, out.Frames[0].Start)
						assert.Equal(t, edges[31].At, out.Frames[0].End)
						return
					}
					assert.Empty(t, out.Frames)
				})
			}
		}
	}
}

// The rule of the checksum, spelt the other way round in one format, is wrong in the other.
func TestDShotChecksum(t *testing.T) {
	x := reference(t)
	timing := x.timing(t, 600)
	for value := range uint32(2048) {
		for _, inverted := range []bool{false, true} {
			d := dshot(t, decode.DShot{Rate: 600, Inverted: inverted})
			out := readDigital(d, timing.bits(nil, ms, frameOf(value, inverted), 16, inverted))
			require.Equal(t, value >= 48, len(out.Frames) == 1)
			d.Reset(2 * ms)
			out = readDigital(d, timing.bits(nil, 3*ms, frameOf(value, !inverted), 16, inverted))
			require.Empty(t, out.Frames)
			require.Len(t, out.Events, 1)
			require.Equal(t, trace.Corrupt, out.Events[0].Kind)
		}
	}
}

// One wrong bit is never taken for a command.
func TestDShotOneBitWrong(t *testing.T) {
	x := reference(t)
	timing := x.timing(t, 300)
	for bit := range 16 {
		out := readDigital(dshot(t, decode.DShot{Rate: 300}), timing.bits(nil, ms, frameOf(1046, false)^1<<bit, 16, false))
		require.Empty(t, out.Frames)
		require.Equal(t, []trace.EventKind{trace.Corrupt}, kinds(out.Events))
	}
}

func kinds(events []trace.Event) (k []trace.EventKind) {
	for _, e := range events {
		k = append(k, e.Kind)
	}
	return k
}

func TestDShotValue(t *testing.T) {
	one := decode.DShot{Rate: 600}
	upper := decode.DShot{Rate: 600, TwoDirection: true}
	lower := decode.DShot{Rate: 600, TwoDirection: true, ForwardLower: true}
	idle := decode.DShot{Rate: 600, StopIsIdle: true}
	x := reference(t)
	timing := x.timing(t, 600)
	for _, row := range []struct {
		name  string
		cfg   decode.DShot
		value uint32
		want  float64
		event []trace.EventKind
	}{
		{"least throttle", one, 48, 0, nil},
		{"half", one, 1048, 1000.0 / 1999, nil},
		{"full", one, 2047, 1, nil},
		{"ahead, slowest", upper, 1048, 0, nil},
		{"ahead, full", upper, 2047, 1, nil},
		{"back, slowest", upper, 48, 0, nil},
		{"back, half", upper, 548, -500.0 / 999, nil},
		{"back, full", upper, 1047, -1, nil},
		{"the other sense, ahead", lower, 1047, 1, nil},
		{"the other sense, back", lower, 2047, -1, nil},
		{"stop is idle", idle, 0, 0, []trace.EventKind{trace.Stop}},
	} {
		t.Run(row.name, func(t *testing.T) {
			out := readDigital(dshot(t, row.cfg), timing.bits(nil, ms, frameOf(row.value, false), 16, false))
			require.Len(t, out.Frames, 1)
			assert.InDelta(t, row.want, out.Frames[0].Value, 1e-12)
			assert.Equal(t, row.event, kinds(out.Events))
		})
	}
}

func TestDShotEvents(t *testing.T) {
	x := reference(t)
	timing := x.timing(t, 600)
	good := frameOf(1000, false)
	frame := func(n int, word uint32) []signal.Edge { return timing.bits(nil, ms, word, n, false) }
	join := func(edges ...[]signal.Edge) (all []signal.Edge) {
		for _, e := range edges {
			all = append(all, e...)
		}
		return all
	}
	next := timing.bits(nil, 2*ms, good, 16, false)
	stretched := frame(16, good)
	for i := 10; i < 32; i++ {
		stretched[i].At += 500
	}
	slow := timing
	slow.Bit, slow.One, slow.Zero = 3.33, 2.5, 1.25
	for _, row := range []struct {
		name   string
		edges  []signal.Edge
		events []trace.EventKind
		frames int
	}{
		{"good", join(frame(16, good), next), nil, 2},
		{"15 bits", join(frame(15, good>>1), next), []trace.EventKind{trace.Short}, 1},
		{"a spike", join([]signal.Edge{rise(ms, 0), fall(ms+100, 0)}, next), []trace.EventKind{trace.Short}, 1},
		{"17 bits", join(frame(17, good<<1), next), []trace.EventKind{trace.Overlong}, 1},
		{"two frames without rest", join(frame(32, good<<16|good), next), []trace.EventKind{trace.Overlong}, 1},
		{"a servo pulse", join([]signal.Edge{rise(ms, 0), fall(ms+900*us, 0)}, next), []trace.EventKind{trace.Overlong}, 1},
		{"half the rate", join(slow.bits(nil, ms, good, 16, false), next), []trace.EventKind{trace.Corrupt}, 1},
		{"bits that are neither", join([]signal.Edge{rise(ms, 0), fall(ms+940, 0)}, next), []trace.EventKind{trace.Corrupt}, 1},
		{"a bit too late", join(stretched, next), []trace.EventKind{trace.Corrupt}, 1},
		{"the other polarity", join([]signal.Edge{rise(10*us, 0)}, timing.bits(nil, ms, frameOf(1000, true), 16, true), []signal.Edge{fall(3*ms/2, 0)}, next), []trace.EventKind{trace.Overlong}, 1},
		{"a bit missed", join(frame(16, good)[:6], frame(16, good)[8:], next), []trace.EventKind{trace.Short, trace.Short}, 1},
		{"a fall missed", join(frame(16, good)[:7], frame(16, good)[8:], next), []trace.EventKind{trace.Uncertain}, 1},
		{"stopped half-way and stuck", join(frame(5, good>>11), []signal.Edge{rise(ms+8*us, 0)}), nil, 0},
	} {
		t.Run(row.name, func(t *testing.T) {
			out := readDigital(dshot(t, decode.DShot{Rate: 600}), row.edges)
			assert.Equal(t, row.events, kinds(out.Events))
			assert.Len(t, out.Frames, row.frames)
			for _, f := range out.Frames {
				assert.InDelta(t, 952.0/1999, f.Value, 1e-12)
			}
		})
	}
}

// What the sampler leaves open is not guessed, even where a guess would have the
// right checksum.
func TestDShotLeftOpen(t *testing.T) {
	x := reference(t)
	timing := x.timing(t, 600)
	first, second := frameOf(0x400, false), frameOf(0x480, false)

	// The two bits in which the frames differ may each be a 0 or a 1.
	edges := timing.bits(nil, ms, second, 16, false)
	for i := range 16 {
		if (first^second)>>(15-i)&1 == 1 {
			edges[2*i+1].Uncertainty = 600
		}
	}
	next := timing.bits(nil, 2*ms, first, 16, false)
	uncertain := func(edges []signal.Edge, frames int) {
		t.Helper()
		out := readDigital(dshot(t, decode.DShot{Rate: 600}), append(edges, next...))
		assert.Len(t, out.Frames, frames)
		assert.Equal(t, []trace.EventKind{trace.Uncertain}, kinds(out.Events))
		assert.Equal(t, 2*ms, out.Frames[len(out.Frames)-1].Start)
	}
	uncertain(edges, 1)

	// The beginning of one frame and the end of the next, a stall between them.
	edges = append(timing.bits(nil, ms, first, 16, false)[:12], timing.bits(nil, ms+125*us, first, 16, false)[12:]...)
	edges[12].Uncertainty = uint32(edges[12].At-edges[11].At) - 175
	edges[13].Uncertainty = 0
	uncertain(edges, 1)

	// All bits, and the stall begins right after them: only the next frame is open.
	edges = append(timing.bits(nil, ms, first, 16, false), timing.bits(nil, ms+125*us, first, 16, false)...)
	edges[32].Uncertainty = uint32(edges[32].At-edges[31].At) - 175
	uncertain(edges, 2)
}

func TestDShotBackwards(t *testing.T) {
	x := reference(t)
	timing := x.timing(t, 600)
	edges := timing.bits(nil, ms, frameOf(1000, false), 16, false)
	edges[9].At -= 100 * us
	out := readDigital(dshot(t, decode.DShot{Rate: 600}), timing.bits(edges, 2*ms, frameOf(1000, false), 16, false))
	assert.Equal(t, []trace.EventKind{trace.Backwards, trace.Uncertain}, kinds(out.Events))
	assert.Len(t, out.Frames, 1)
}

func TestDShotLost(t *testing.T) {
	x := reference(t)
	timing := x.timing(t, 600)
	d := dshot(t, decode.DShot{Rate: 600})
	var out trace.Output
	for at := signal.Time(0); at < 400*ms; at += ms {
		d.Until(at, &out)
	}
	assert.Equal(t, []trace.Event{{At: 100 * ms, Kind: trace.Lost}}, out.Events, "once")

	// A frame that is wrong does not end the loss. A good one does, and so does a stop.
	for _, e := range timing.bits(nil, 400*ms, frameOf(1000, false)^1, 16, false) {
		d.Edge(e, &out)
	}
	d.Until(450*ms, &out)
	for _, e := range timing.bits(nil, 500*ms, frameOf(0, false), 16, false) {
		d.Edge(e, &out)
	}
	d.Until(650*ms, &out)
	assert.Equal(t, []trace.EventKind{trace.Lost, trace.Corrupt, trace.Stop, trace.Lost}, kinds(out.Events))

	// A level that stays is a loss, too.
	d.Reset(700 * ms)
	d.Edge(rise(701*ms, 0), &out)
	d.Until(900*ms, &out)
	assert.Equal(t, trace.Event{At: 800 * ms, Kind: trace.Lost}, out.Events[len(out.Events)-1])
}

// A square wave without end is told of, and no command.
func TestDShotWithoutEnd(t *testing.T) {
	d := dshot(t, decode.DShot{Rate: 600})
	var out trace.Output
	for at := 10 * us; at < 200*ms; at += 1667 {
		d.Edge(rise(at, 0), &out)
		d.Edge(fall(at+625, 0), &out)
	}
	assert.Empty(t, out.Frames)
	lost := 0
	for _, e := range out.Events {
		if e.Kind == trace.Lost {
			lost++
			continue
		}
		require.Equal(t, trace.Overlong, e.Kind)
	}
	assert.Equal(t, 1, lost)
	assert.Greater(t, len(out.Events), 1000)
	ordered(t, &out)
}

// Bits as the coarse timers of boards give them, all frames are read.
func TestDShotTolerance(t *testing.T) {
	r := reference(t)
	rapid.Check(t, func(rt *rapid.T) {
		timing := r.timing(t, rapid.SampledFrom([]int{150, 300, 600}).Draw(rt, "rate"))
		within := func(x, share float64, name string) float64 {
			return x + timing.Bit*share*rapid.Float64Range(-1, 1).Draw(rt, name)
		}
		rate := timing.Rate
		timing.Zero = within(timing.Zero, 0.09, "zero")
		timing.One = within(timing.One, 0.09, "one")
		timing.Bit = within(timing.Bit, 0.09, "bit")
		value := rapid.Uint32Range(48, 2047).Draw(rt, "value")
		out := readDigital(dshot(rt, decode.DShot{Rate: rate}), timing.bits(nil, ms, frameOf(value, false), 16, false))
		require.Len(rt, out.Frames, 1)
		require.InDelta(rt, float64(value-48)/1999, out.Frames[0].Value, 1e-12)
	})
}

func TestDShotRefuses(t *testing.T) {
	_, err := decode.NewDShot(decode.DShot{Rate: 1200})
	assert.ErrorContains(t, err, "1200 kbit/s; 150, 300 and 600")
	_, err = decode.NewDShot(decode.DShot{Rate: 150, LostAfter: 100 * us})
	assert.ErrorContains(t, err, "write 1 ms or more")
}

func TestDShotAllocatesNothing(t *testing.T) {
	x := reference(t)
	timing := x.timing(t, 600)
	edges := timing.bits(nil, 0, frameOf(1000, false), 16, false)
	d := dshot(t, decode.DShot{Rate: 600})
	out := trace.Output{Frames: make([]trace.Frame, 0, 4)}
	at := ms
	assert.Zero(t, testing.AllocsPerRun(100, func() {
		out.Frames = out.Frames[:0]
		for _, e := range edges {
			e.At += at
			d.Edge(e, &out)
		}
		at += 125 * us
		d.Until(at, &out)
		if len(out.Frames) != 1 {
			t.Fail()
		}
	}))
}

func FuzzDShot(f *testing.F) {
	f.Add(uint64(1), uint16(300), int64(2000), uint8(0), uint16(1046))
	f.Add(uint64(2), uint16(300), int64(200_000), uint8(7), uint16(0))
	f.Add(uint64(3), uint16(50), int64(1<<62), uint8(2), uint16(2047))
	timing := digitalTiming{Bit: 5.0 / 3, One: 1.25, Zero: 0.625}
	f.Fuzz(func(t *testing.T, seed uint64, n uint16, scale int64, kind uint8, value uint16) {
		inverted := kind&4 != 0
		d := dshot(t, decode.DShot{Rate: []int{150, 300, 600, 600}[kind&3], Inverted: inverted, TwoDirection: kind&8 != 0})
		var out trace.Output
		edges := stream(seed, int(n%2000), max(scale, 1))
		if len(edges) > 0 && scale < 1<<40 { // a frame among the garbage
			edges = timing.bits(edges, edges[len(edges)-1].At+10*us, uint32(value), 16, inverted)
		}
		for i, e := range edges {
			d.Edge(e, &out)
			if i%7 == 0 {
				d.Until(e.At+us, &out)
			}
		}
		if scale < 1<<40 {
			ordered(t, &out)
		}
		for _, frame := range out.Frames {
			require.GreaterOrEqual(t, frame.Value, -1.0)
			require.LessOrEqual(t, frame.Value, 1.0)
			require.LessOrEqual(t, frame.Start, frame.End)
		}
	})
}
