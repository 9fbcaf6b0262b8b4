package hostlines_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig/raspberry/hostlines"
	"hilrig/rig/signal"
)

// atOnce is a backend that puts out every change when it is due, in no time.
type atOnce struct {
	hostlines.Backend
	bench *hostlines.Bench
	now   signal.Time
}

func (m *atOnce) Present() signal.Time  { return m.now }
func (m *atOnce) Reported() signal.Time { return m.now }
func (m *atOnce) Failed() error         { return nil }
func (m *atOnce) Queued(signal.Time)    {}

// Wait takes what is due from the queue and waits no longer.
func (m *atOnce) Wait(t signal.Time, played func(signal.Time) bool) error {
	for q := m.bench.Queues[0]; !q.Empty() && q.Oldest().At <= t; {
		q.Head.Add(1)
	}
	m.now = t
	if !played(t) {
		panic("a change that was due is not put out")
	}
	return nil
}

func TestATickAllocatesNothing(t *testing.T) {
	s := hostlines.Settings{Layout: signal.Layout{Lines: []signal.LineSpec{{Name: "out", Direction: signal.Drive}}}, Pins: hostlines.Pins{4}}
	require.NoError(t, s.Check())
	b := hostlines.New("bench", &s, []uint64{1})
	b.Begin(&atOnce{bench: b}, nil)
	edges := make([]signal.Edge, 2)
	assert.Zero(t, testing.AllocsPerRun(100, func() {
		next := b.Now() + signal.Millisecond
		edges[0], edges[1] = signal.Edge{At: next - 500, Level: true}, signal.Edge{At: next}
		if err := b.Drive(edges, next); err != nil {
			t.Error(err)
		}
		if err := b.Wait(next); err != nil {
			t.Error(err)
		}
	}))
}
