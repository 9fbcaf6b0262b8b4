package decode_test

import (
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig/decode"
	"hilrig/rig/signal"
	"hilrig/rig/simulated"
)

// lineOf returns the edges of one line of a recording, as sampled.
func lineOf(r recording, line signal.Line, period signal.Time) (edges []signal.Edge) {
	for _, e := range r.edges {
		if e.Line == line {
			if period > 0 {
				e.At, e.Uncertainty = (e.At/period+1)*period, uint32(period)
			}
			edges = append(edges, e)
		}
	}
	return edges
}

func TestFind(t *testing.T) {
	for _, row := range []struct {
		name   string
		motor  decode.Motor
		period signal.Time
	}{
		{"servo pulse", decode.Motor{Servo: oneWay()}, 20 * ms},
		{"servo pulse, fast", decode.Motor{Servo: oneWay()}, 3 * ms},
		{"servo pulse, fast, inverted", decode.Motor{Servo: decode.Servo{Idle: 1000 * us, Full: 2000 * us, Inverted: true}}, 3 * ms},
		{"oneshot125", decode.Motor{Kind: decode.OneShot125}, 500 * us},
		{"oneshot125, fast, inverted", decode.Motor{Kind: decode.OneShot125, Servo: decode.Servo{Inverted: true}}, 380 * us},
		{"dshot150", decode.Motor{Kind: decode.DShot150}, ms},
		{"dshot300", decode.Motor{Kind: decode.DShot300}, 125 * us},
		{"dshot600", decode.Motor{Kind: decode.DShot600}, 125 * us},
		{"dshot600, inverted", decode.Motor{Kind: decode.DShot600, DShot: decode.DShot{Inverted: true}}, 250 * us},
	} {
		recorded := record(t, row.motor, row.period, 500*ms, 9)
		for _, sampler := range []signal.Time{0, 175} {
			for _, begin := range []int{0, 1, 17} {
				edges := lineOf(recorded, 2, sampler)[begin:]
				guesses := decode.Find(edges)
				require.NotEmpty(t, guesses, row.name)
				g := guesses[0]
				assert.Equal(t, row.motor.Kind, g.Kind, row.name)
				assert.Equal(t, row.motor.Inverted(), g.Inverted, "%s: %+v", row.name, guesses)
				assert.InEpsilon(t, 1/row.period.Seconds(), g.Rate, 0.01, row.name)
				assert.Greater(t, g.Confidence, 0.9, "%s: %+v", row.name, guesses)
				assert.NotEmpty(t, g.Why)
				for _, other := range guesses[1:] {
					assert.Less(t, other.Confidence, 0.1, row.name)
				}
			}
		}
	}
}

// A line that always gives the same pulse, as wide as its rest, may be either way up.
func TestFindSaysWhatCannotBeDetermined(t *testing.T) {
	var edges []signal.Edge
	for at := ms; at < 200*ms; at += 3 * ms {
		edges = append(edges, rise(at, 0), fall(at+1500*us, 0))
	}
	guesses := decode.Find(edges)
	require.Len(t, guesses, 2)
	for _, g := range guesses {
		assert.Equal(t, decode.ServoPulse, g.Kind)
		assert.InDelta(t, 0.5, g.Confidence, 0.02)
		assert.Contains(t, g.Why, "the other polarity reads as well")
		assert.InDelta(t, 1000.0/3, g.Rate, 1e-6)
	}
	assert.NotEqual(t, guesses[0].Inverted, guesses[1].Inverted)
}

// A motor told to stop, over and over, is a line like another.
func TestFindStops(t *testing.T) {
	x := reference(t)
	timing := x.timing(t, 300)
	var edges []signal.Edge
	for at := ms; at < 100*ms; at += ms {
		edges = timing.bits(edges, at, 0, 16, false)
	}
	guesses := decode.Find(edges)
	require.Len(t, guesses, 1)
	assert.Equal(t, decode.DShot300, guesses[0].Kind)
	assert.InDelta(t, 1000, guesses[0].Rate, 1)
	assert.Equal(t, "99 of 99 frames have the bits of 300 kbit/s and the right checksum", guesses[0].Why)
}

func TestFindNothing(t *testing.T) {
	assert.Empty(t, decode.Find(nil))
	random := rand.New(rand.NewPCG(1, 1))
	for _, scale := range []int64{1000, 3000, 100_000} {
		var noise []signal.Edge
		at, level := ms, false
		for range 2000 {
			at += 1 + signal.Time(random.Int64N(scale))
			level = !level
			noise = append(noise, signal.Edge{At: at, Level: level})
		}
		assert.Empty(t, decode.Find(noise), "edges within %d ns", scale)
	}
	var pwm []signal.Edge // 20 kHz
	for at := ms; at < 100*ms; at += 50 * us {
		pwm = append(pwm, rise(at, 0), fall(at+20*us, 0))
	}
	assert.Empty(t, decode.Find(pwm))
	assert.Empty(t, decode.Find([]signal.Edge{rise(ms, 0)}), "a level that stays")
}

// What the sampler could not see does not count against a format.
func TestFindThroughStalls(t *testing.T) {
	m := decode.Motor{Kind: decode.DShot600}
	r := record(t, m, 125*us, 500*ms, 4)
	random := rand.New(rand.NewPCG(5, 3))
	s := simulated.Sampler{Period: 175, Stalls: simulated.Stalls{Mean: 20 * ms, Least: 50 * us, Most: 300 * us, Draw: random.Uint64}}
	layout := signal.Layout{}
	for range 4 {
		layout.Lines = append(layout.Lines, signal.LineSpec{Direction: signal.Capture})
	}
	bench, err := simulated.New(simulated.Settings{Layout: layout, Board: &tape{edges: r.edges}, Sampler: s})
	require.NoError(t, err)
	defer bench.Close()
	require.NoError(t, bench.Wait(500*ms))
	edges, err := bench.Captured(nil)
	require.NoError(t, err)
	guesses := decode.Find(edges)
	require.Len(t, guesses, 1)
	assert.Equal(t, decode.DShot600, guesses[0].Kind)
	assert.Equal(t, 1.0, guesses[0].Confidence)
}

func FuzzFind(f *testing.F) {
	f.Add(uint64(1), uint16(300), int64(3_000_000))
	f.Add(uint64(2), uint16(300), int64(3000))
	f.Add(uint64(3), uint16(50), int64(1<<62))
	f.Fuzz(func(t *testing.T, seed uint64, n uint16, scale int64) {
		for _, g := range decode.Find(stream(seed, int(n%3000), max(scale, 1))) {
			require.GreaterOrEqual(t, g.Confidence, 0.0)
			require.LessOrEqual(t, g.Confidence, 1.0)
		}
	})
}
