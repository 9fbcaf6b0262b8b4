package registers

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig/raspberry/realtime"
	"hilrig/rig/signal"
)

// One sample of the memory bank: 50 ns are 20 M reads a second.
func BenchmarkSample(b *testing.B) {
	m, c := &Memory{}, newClock()
	s := sampler{leastLimit: signal.Second, captured: realtime.NewRing[signal.Edge](10)}
	for b.Loop() {
		began := c.now()
		s.step(m.Level(), began, c.reached())
	}
}

// One edge handed over, sampled around and played: 667 ns are 1.5 M edges a second.
func BenchmarkEdge(b *testing.B) {
	bench, s := still(b)
	c := newClock()
	edges := make([]signal.Edge, 1)
	level := false
	for b.Loop() {
		level = !level
		now := c.now()
		edges[0] = signal.Edge{At: now, Level: level}
		if err := bench.Drive(edges, now); err != nil {
			b.Fatal(err)
		}
		for !bench.Queues[0].Empty() {
			now = c.now()
			s.sampler.step(s.bank.Level(), now, c.reached())
			s.output.step(s.bank, now)
		}
		bench.on.loop.output.last = [256]signal.Time{}
	}
	assert.EqualValues(b, b.N, s.output.late.Count)
}

// still returns a bench whose loop takes no turns, to be stepped by hand.
func still(t testing.TB) (*Bench, *ioLoop) {
	bench := openLoop(t, turnsOfATest()).Bench.(*Bench)
	return bench, bench.on.loop
}

func TestEdgePathAllocatesNothing(t *testing.T) {
	bench, s := still(t)
	now := signal.Time(0)
	edges := make([]signal.Edge, 100)
	taken := make([]signal.Edge, 0, 1000)
	level := false
	played := uint64(0)
	assert.Zero(t, testing.AllocsPerRun(100, func() {
		for i := range edges {
			level = !level
			edges[i] = signal.Edge{At: now + signal.Time(i), Level: level}
		}
		require.NoError(t, bench.Drive(edges, now+100))
		for !bench.Queues[0].Empty() {
			now += us
			s.sampler.step(s.bank.Level(), now, now)
			s.output.step(s.bank, now)
		}
		played += 100
		taken, _ = bench.Captured(taken[:0])
	}))
	assert.Equal(t, played, s.output.late.Count, "none is skipped")
}
