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

// sample looks at the levels that edges make of a line at rest low, at random moments, and
// tells what it sees as a sampler does: of a gap longer than blind always.
func sample(t *rapid.T, edges []signal.Edge, inverted bool, end, usual, longest, unreported signal.Time) (seen []signal.Edge) {
	level, before := inverted, signal.Time(0)
	for now := signal.Time(0); now < end; {
		step := rapid.Int64Range(1, int64(usual)).Draw(t, "step")
		if rapid.IntRange(0, 30).Draw(t, "stall") == 0 {
			step = rapid.Int64Range(1, int64(longest)).Draw(t, "length")
		}
		now += signal.Time(step)
		is := level
		for len(edges) > 0 && edges[0].At <= now {
			is, edges = edges[0].Level, edges[1:]
		}
		if is != level || now-before > unreported {
			seen = append(seen, signal.Edge{At: now, Uncertainty: uint32(now - before), Level: is})
		}
		level, before = is, now
	}
	return seen
}

// Whatever the sampler misses, no reading of a line whose commands are all the same is
// more than they are.
func TestReadingsAreNeverMoreThanTheTruth(t *testing.T) {
	reported := 0 // readings that could not be measured and yet say something
	rapid.Check(t, func(t *rapid.T) {
		kind := decode.MotorKind(rapid.IntRange(0, int(decode.MotorKinds)-1).Draw(t, "kind"))
		inverted, twoWay := rapid.Bool().Draw(t, "inverted"), rapid.Bool().Draw(t, "two ways")
		m := decode.Motor{Kind: kind, DShot: decode.DShot{Inverted: inverted, TwoDirection: twoWay}}
		m.Servo = decode.Servo{Idle: 1000 * us, Full: 2000 * us, Inverted: inverted, WithNeutral: twoWay}
		var edges []signal.Edge
		var truth float64
		var usual, every signal.Time
		if rate := map[decode.MotorKind]int{decode.DShot150: 150, decode.DShot300: 300, decode.DShot600: 600}[kind]; rate > 0 {
			value := rapid.IntRange(0, 2047).Draw(t, "value")
			usual, every = signal.Time(300*us)/signal.Time(rate), 60000*us/signal.Time(rate)
			truth = magnitude(value, twoWay)
			for i := range signal.Time(4) {
				x := digitalTiming{rate, 1e3 / float64(rate), 750 / float64(rate), 375 / float64(rate)}
				edges = x.bits(edges, every/4+i*every, frameOf(uint32(value), inverted), 16, inverted)
			}
		} else {
			if twoWay {
				m.Servo.Idle = 1500 * us
			}
			if kind == decode.OneShot125 {
				m.Servo.Idle, m.Servo.Full = m.Servo.Idle/8, m.Servo.Full/8
			}
			width := signal.Time(rapid.Int64Range(int64(m.Servo.Full)/4, int64(m.Servo.Full)*3/2).Draw(t, "width"))
			usual, every = m.Servo.Full/16, 3*m.Servo.Full
			truth = math.Abs(float64(width-m.Servo.Idle) / float64(m.Servo.Full-m.Servo.Idle))
			for i := range signal.Time(4) {
				at := every/4 + i*every
				edges = append(edges, signal.Edge{At: at, Level: !inverted}, signal.Edge{At: at + width, Level: inverted})
			}
		}
		d, err := m.New()
		require.NoError(t, err)
		d.Reset(0)
		d.Observe(func(r decode.Reading) {
			require.LessOrEqual(t, r.Least, truth+1e-9)
			if r.Least > 0 && !r.Measured {
				reported++
			}
		})
		var out trace.Output
		end := 5 * every
		for _, e := range sample(t, edges, inverted, end, usual, every/2, usual) {
			d.Edge(e, &out)
		}
		d.Until(end+200*ms, &out)
	})
	assert.NotZero(t, reported)
}

// magnitude is what a digital value asks for, either way.
func magnitude(value int, twoWay bool) float64 {
	switch {
	case value < 48:
		return 0
	case !twoWay:
		return float64(value-48) / 1999
	case value < 1048:
		return float64(value-48) / 999
	}
	return float64(value-1048) / 999
}

// slotsByScan returns where each rising edge may be, in ns, by trying out every bit time of a
// board at 150 kbit/s in steps of 1 ns: its edges lie on a line, give or take a hundredth of a bit.
func slotsByScan(edges []signal.Edge) (earliest, latest [16]float64) {
	const bit = 1e6 / 150
	for i := range earliest {
		earliest[i], latest[i] = math.Inf(1), math.Inf(-1)
	}
	for period := math.Ceil(0.9 * bit); period <= 1.1*bit; period++ {
		from, to := math.Inf(-1), math.Inf(1)
		for i := range 16 {
			e := edges[2*i]
			from = max(from, float64(e.At)-float64(e.Uncertainty)-0.01*bit-float64(i)*period)
			to = min(to, float64(e.At)+0.01*bit-float64(i)*period)
		}
		if from > to {
			continue
		}
		for i := range earliest {
			earliest[i] = min(earliest[i], from+float64(i)*period)
			latest[i] = max(latest[i], to+float64(i)*period)
		}
	}
	return earliest, latest
}

// A frame of which bits are left open: its reading is the least of all frames that have
// the right checksum and fit the stamps. The bands of a pulse are those of dshotTiming.
func TestAReadingOfAFrameIsTheLeastOfThoseThatFit(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		twoWay := rapid.Bool().Draw(t, "two ways")
		cfg := decode.DShot{Rate: 150, TwoDirection: twoWay}
		word := frameOf(uint32(rapid.IntRange(0, 2047).Draw(t, "value")), false)
		if rapid.IntRange(0, 3).Draw(t, "corrupt") == 0 {
			word ^= 1 << rapid.IntRange(0, 15).Draw(t, "bit")
		}
		const bit = 6667 * signal.Nanosecond
		var edges []signal.Edge
		for i := range 16 {
			width := signal.Time(2500)
			if word>>(15-i)&1 == 1 {
				width = 5000
			}
			late := rapid.Uint32Range(0, 100).Draw(t, "late")
			if rapid.IntRange(0, 5).Draw(t, "open") == 0 {
				width, late = 4400, rapid.Uint32Range(1250, 1600).Draw(t, "so late")
			}
			at := ms + signal.Time(i)*bit
			edges = append(edges, signal.Edge{At: at, Uncertainty: late, Level: true}, signal.Edge{At: at + width, Uncertainty: late})
		}
		earliest, latest := slotsByScan(edges)
		var zero, one uint32 // bits that may be so
		for i := range 16 {
			fall := edges[2*i+1]
			least, most := float64(fall.At)-float64(fall.Uncertainty)-latest[i], float64(fall.At)-earliest[i]
			zero, one = zero<<1, one<<1
			if least <= 0.475*1e6/150 && most >= 0.275*1e6/150 {
				zero |= 1
			}
			if least <= 0.85*1e6/150 && most >= 0.65*1e6/150 {
				one |= 1
			}
			if math.Abs(least-0.475*1e6/150) < 8 || math.Abs(most-0.65*1e6/150) < 8 {
				t.Skip("the scan's steps decide")
			}
		}
		want := math.Inf(1)
		for value := range 2048 {
			for asks := range uint32(2) {
				w := telling(uint32(value), asks)
				if w&^one == 0 && ^w&0xFFFF&^zero == 0 {
					want = min(want, magnitude(value, twoWay))
				}
			}
		}
		if math.IsInf(want, 1) {
			want = 0 // it is corrupt whatever it says
		}
		d := dshot(t, cfg)
		var got []decode.Reading
		d.Observe(func(r decode.Reading) { got = append(got, r) })
		var out trace.Output
		for _, e := range edges {
			d.Edge(e, &out)
		}
		d.Edge(signal.Edge{At: 2 * ms, Level: true}, &out)
		require.Len(t, got, 1)
		require.InDelta(t, want, got[0].Least, 1e-12, "%+v", out)
		measured := len(out.Frames) > 0
		for _, e := range out.Events {
			measured = measured || e.Kind == trace.Stop || e.Kind == trace.Command
		}
		require.Equal(t, measured, got[0].Measured)
	})
}

// telling is a frame that may ask for telemetry: the published rule of its checksum.
func telling(value, asks uint32) uint32 {
	v := value<<1 | asks
	return v<<4 | (v^v>>4^v>>8)&0xF
}

// Nothing is allocated for a reading, and spikes give none.
func TestReadingsOfSpikes(t *testing.T) {
	var got []decode.Reading
	see := func(r decode.Reading) { got = append(got, r) }
	d := servo(t, oneWay())
	d.Observe(see)
	d.Reset(0)
	read(d, rise(ms, 0), fall(ms+49*us, 0), rise(2*ms, 0), fall(2*ms+50*us, 0), rise(3*ms, 30), fall(3*ms+49999, 0))
	require.Len(t, got, 2)
	assert.Equal(t, 2*ms+50*us, got[0].At)
	assert.InDelta(t, 0.95, got[0].Least, 1e-9)
	assert.Equal(t, 3*ms+49999, got[1].At, "it may have been 50 us wide")
	assert.False(t, got[0].Measured)
	d.Observe(nil)
	read(d, rise(4*ms, 0), fall(5*ms, 0))
	assert.Len(t, got, 2, "nobody looks any more")
}

// What a sampler that did not look now and then leaves of a pulse and of a frame.
func TestReadingsWithGaps(t *testing.T) {
	bit := func(i, width signal.Time) []signal.Edge {
		at := ms + i*6667
		return []signal.Edge{{At: at, Level: true}, {At: at + width}}
	}
	join := func(all ...[]signal.Edge) (edges []signal.Edge) {
		for _, e := range all {
			edges = append(edges, e...)
		}
		return edges
	}
	gap := []signal.Edge{{At: ms + 80*us, Uncertainty: uint32(65 * us)}}
	next := []signal.Edge{{At: 5 * ms, Level: true}} // the beginning of what comes next
	ref := reference(t)
	timing := ref.timing(t, 150)
	full := timing.bits(nil, ms, frameOf(2047, false), 16, false)
	outOfRange := append([]signal.Edge(nil), full...)
	outOfRange[31].At = outOfRange[30].At + us
	pulse, digital := decode.Motor{Servo: oneWay()}, decode.Motor{Kind: decode.DShot150}
	for _, row := range []struct {
		name  string
		motor decode.Motor
		edges []signal.Edge
		least float64
	}{
		{"watched from 100 us on", pulse, []signal.Edge{rise(ms, 0), rise(ms+100*us, 20), fall(3*ms, uint32(200*us))}, 0.7},
		{"watched up to 1700 us", pulse, []signal.Edge{rise(ms, 0), rise(ms+1800*us, uint32(100*us)), rise(ms+1900*us, 20), fall(3*ms, 100)}, 0.7},
		{"watched between two gaps", pulse, []signal.Edge{rise(ms, 0), rise(ms+100*us, 20), rise(ms+1800*us, uint32(100*us)), fall(3*ms, 100)}, 0.6},
		{"watched too short", pulse, []signal.Edge{rise(ms, 0), rise(2*ms, 20), fall(3*ms, uint32(200*us))}, 0},
		{"two bits", digital, join(bit(0, 5000), bit(1, 5000), gap, next), magnitude(1536, false)},
		{"two bits, the second wrong", digital, join(bit(0, 5000), bit(1, 1000), gap, next), 0},
		{"all bits", digital, join(full, next), 1},
		{"all bits, the last pulse too short", digital, join(outOfRange, next), 0},
		{"all bits, then a gap", digital, join(full, []signal.Edge{{At: ms + 108*us, Uncertainty: 1500}}, next), 1},
	} {
		t.Run(row.name, func(t *testing.T) {
			d, err := row.motor.New()
			require.NoError(t, err)
			d.Reset(0)
			var got []decode.Reading
			d.Observe(func(r decode.Reading) { got = append(got, r) })
			var out trace.Output
			for _, e := range row.edges {
				d.Edge(e, &out)
			}
			require.Len(t, got, 1, "%+v", out)
			assert.InDelta(t, row.least, got[0].Least, 1e-9)
		})
	}
}
