package decode_test

import (
	"cmp"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig/decode"
	"hilrig/rig/signal"
	"hilrig/rig/simulated"
	"hilrig/rig/trace"
)

// tape is a board that puts out edges made beforehand.
type tape struct {
	edges []signal.Edge
	next  int
}

func (b *tape) Name() string { return "tape" }

func (b *tape) Run(_ []signal.Edge, until signal.Time, out []signal.Edge) ([]signal.Edge, error) {
	for b.next < len(b.edges) && b.edges[b.next].At <= until {
		out = append(out, b.edges[b.next])
		b.next++
	}
	return out, nil
}

func (b *tape) Restart(signal.Time) error { return nil }

func (b *tape) Close() error { return nil }

// truth is one command as it was put out.
type truth struct {
	start, end signal.Time
	value      float64
}

// recording is what four lines put out.
type recording struct {
	edges []signal.Edge
	truth [4][]truth
}

// record puts out commands at random, a frame every period and each line moved
// by a part of it, so that frames end and begin at every phase of the sampler.
func record(t testing.TB, m decode.Motor, period, length signal.Time, seed uint64) (r recording) {
	random := rand.New(rand.NewPCG(seed, 2))
	reference := reference(t)
	for line := range 4 {
		offset := ms + signal.Time(random.Int64N(int64(period)))
		for at := offset; at+2*period < length; at += period {
			begin := at + signal.Time(random.Int64N(300))
			var edges []signal.Edge
			value := 0.0
			if m.Kind.Digital() {
				raw := uint32(48 + random.IntN(2000))
				rate := map[decode.MotorKind]int{decode.DShot150: 150, decode.DShot300: 300, decode.DShot600: 600}[m.Kind]
				edges = reference.timing(t, rate).bits(nil, begin, frameOf(raw, m.Inverted()), 16, m.Inverted())
				value = float64(raw-48) / 1999
			} else {
				p := m.Pulse()
				width := p.Idle + signal.Time(random.Int64N(int64(p.Full-p.Idle)+1))
				edges = []signal.Edge{{At: begin, Level: !p.Inverted}, {At: begin + width, Level: p.Inverted}}
				value = float64(width-p.Idle) / float64(p.Full-p.Idle)
			}
			r.truth[line] = append(r.truth[line], truth{begin, edges[len(edges)-1].At, value})
			for _, e := range edges {
				e.Line = signal.Line(line)
				r.edges = append(r.edges, e)
			}
		}
	}
	slices.SortStableFunc(r.edges, func(a, b signal.Edge) int { return cmp.Compare(a.At, b.At) })
	return r
}

// sampled plays a recording through a sampler and reads it.
func sampled(t testing.TB, m decode.Motor, r recording, s simulated.Sampler, length signal.Time) (out [4]trace.Output) {
	layout := signal.Layout{}
	var decoders [4]decode.MotorDecoder
	for line := range 4 {
		layout.Lines = append(layout.Lines, signal.LineSpec{Name: string(rune('a' + line)), Direction: signal.Capture, Idle: m.Inverted()})
		var err error
		decoders[line], err = m.New()
		require.NoError(t, err)
		decoders[line].Reset(0)
	}
	bench, err := simulated.New(simulated.Settings{Layout: layout, Board: &tape{edges: r.edges}, Sampler: s})
	require.NoError(t, err)
	defer bench.Close()
	var edges []signal.Edge
	for at := signal.Time(0); at < length; {
		at += ms
		require.NoError(t, bench.Wait(at))
		edges, err = bench.Captured(edges[:0])
		require.NoError(t, err)
		for _, e := range edges {
			decoders[e.Line].Edge(e, &out[e.Line])
		}
		for line, d := range decoders {
			d.Until(at, &out[line])
		}
	}
	return out
}

// TestNoCommandIsReadWrongly plays sound commands through a sampler that looks
// every 175 ns and stalls for 50 to 300 us: each command that is read was sent so,
// and nothing is said to be wrong with any; what cannot be trusted is left out.
func TestNoCommandIsReadWrongly(t *testing.T) {
	length := signal.Second
	if testing.Short() {
		length = signal.Second / 4
	}
	for _, row := range []struct {
		name   string
		motor  decode.Motor
		period signal.Time
		least  float64 // share of commands that has to come through
	}{
		{"servo pulse", decode.Motor{Servo: oneWay()}, 2500 * us, 0.8},
		{"servo pulse, inverted", decode.Motor{Servo: decode.Servo{Idle: 1000 * us, Full: 2000 * us, Inverted: true}}, 2050 * us, 0.8},
		{"oneshot125", decode.Motor{Kind: decode.OneShot125}, 500 * us, 0.9},
		{"oneshot125 without rest", decode.Motor{Kind: decode.OneShot125}, 252 * us, 0.9},
		{"dshot150", decode.Motor{Kind: decode.DShot150}, 250 * us, 0.9},
		{"dshot300", decode.Motor{Kind: decode.DShot300}, 125 * us, 0.9},
		{"dshot600", decode.Motor{Kind: decode.DShot600}, 125 * us, 0.9},
		{"dshot600 almost without rest", decode.Motor{Kind: decode.DShot600}, 31 * us, 0.9},
		{"dshot600, inverted", decode.Motor{Kind: decode.DShot600, DShot: decode.DShot{Inverted: true}}, 125 * us, 0.9},
	} {
		t.Run(row.name, func(t *testing.T) {
			length := length
			if row.period < 100*us {
				length /= 4
			}
			r := record(t, row.motor, row.period, length, 7)
			random := rand.New(rand.NewPCG(11, 3))
			stalls := simulated.Stalls{Mean: 20 * ms, Least: 50 * us, Most: 300 * us, Draw: random.Uint64}
			out := sampled(t, row.motor, r, simulated.Sampler{Period: 175, Stalls: stalls}, length)
			uncertain := 0
			for line := range out {
				for _, e := range out[line].Events {
					if e.Kind == trace.Settled {
						continue
					}
					require.Equal(t, trace.Uncertain, e.Kind, "line %d at %v", line, e.At)
					uncertain++
				}
				held(t, out[line].Frames, r.truth[line])
				assert.GreaterOrEqual(t, float64(len(out[line].Frames)), row.least*float64(len(r.truth[line])))
			}
			assert.NotZero(t, uncertain, "the stalls met some")
			t.Logf("%d of %d read, %d uncertain", len(out[0].Frames), len(r.truth[0]), uncertain/4)
		})
	}
}

// held fails unless each frame that was read is one that was sent.
func held(t *testing.T, frames []trace.Frame, sent []truth) {
	k := 0
	for _, f := range frames {
		// End is at most a stall late, and so is Start.
		for k < len(sent) && sent[k].end+301*us < f.End {
			k++
		}
		found := false
		for i := k; i < len(sent) && sent[i].end <= f.End; i++ {
			found = found || sent[i].start <= f.Start &&
				f.Value-f.Uncertainty-1e-9 <= sent[i].value && sent[i].value <= f.Value+f.Uncertainty+1e-9 &&
				(i+1 == len(sent) || f.Start < sent[i].end)
		}
		require.True(t, found, "%+v was not sent", f)
	}
}

// The same without stalls: all is read, and without them and a sampler exactly.
func TestAllIsReadWithoutStalls(t *testing.T) {
	for k := range decode.MotorKinds {
		t.Run(k.String(), func(t *testing.T) {
			m := decode.Motor{Kind: k}
			if k == decode.ServoPulse {
				m.Servo = oneWay()
			}
			r := record(t, m, 2500*us, 500*ms, 3)
			for _, period := range []signal.Time{0, 20, 175} {
				out := sampled(t, m, r, simulated.Sampler{Period: period}, 500*ms)
				for line := range out {
					require.Empty(t, out[line].Events)
					require.Len(t, out[line].Frames, len(r.truth[line]))
					for i, f := range out[line].Frames {
						require.InDelta(t, r.truth[line][i].value, f.Value, f.Uncertainty+1e-9)
						require.LessOrEqual(t, f.Uncertainty, 2*float64(period)/125_000)
						require.InDelta(t, float64(r.truth[line][i].start), float64(f.Start), float64(period))
						require.InDelta(t, float64(r.truth[line][i].end), float64(f.End), float64(period))
					}
				}
			}
		})
	}
}

// A stall of many milliseconds among frames: what was seen before and after it is
// read, and it is no loss.
func TestLongStallIsNoLoss(t *testing.T) {
	m := decode.Motor{Kind: decode.DShot600}
	r := record(t, m, 125*us, signal.Second, 5)
	draws := uint64(0)
	s := simulated.Sampler{Period: 175, Stalls: simulated.Stalls{Mean: 150 * ms, Least: 80 * ms, Most: 80 * ms, Draw: func() uint64 { draws += 200e6 + 1; return draws }}}
	for _, o := range sampled(t, m, r, s, signal.Second) {
		assert.NotEmpty(t, o.Frames)
		for _, e := range o.Events {
			assert.Equal(t, trace.Uncertain, e.Kind)
		}
	}
}
