package suites

import (
	"context"
	"errors"
	"runtime"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig"
	"hilrig/rig/board"
	"hilrig/rig/signal"
)

// watched is a bench that tells of each wait, and fails from a moment on.
type watched struct {
	rig.Bench
	waited chan struct{} // one for each wait, as long as somebody takes them
	rises  atomic.Int64  // of all driven lines
	fail   atomic.Bool
	failed chan struct{} // closed at the first wait that fails
}

var errTornOff = errors.New("the wires are torn off")

func (w *watched) Drive(edges []signal.Edge, until signal.Time) error {
	for _, e := range edges {
		if e.Level {
			w.rises.Add(1)
		}
	}
	return w.Bench.Drive(edges, until)
}

func (w *watched) Wait(t signal.Time) error {
	if w.fail.Load() {
		select {
		case <-w.failed:
		default:
			close(w.failed)
		}
		return errTornOff
	}
	select {
	case w.waited <- struct{}{}:
	default:
	}
	return w.Bench.Wait(t)
}

// sessionOn opens a session of the short suite on a bench that counts as one in real time.
func sessionOn(t *testing.T) (*session, *watched) {
	t.Helper()
	s := load(t, "", short)
	w := &watched{waited: make(chan struct{}), failed: make(chan struct{})}
	require.NoError(t, s.On(&Real{Kind: "watched", Board: true, Restarts: true, Open: func(_ signal.Layout, b board.Board) (bench rig.Bench, err error) {
		w.Bench, err = s.simulated(s.Suites[0], b, nil, nil)
		return w, err
	}}))
	ses, err := s.open(t.Context(), s.Suites[0], s.board, nil)
	t.Cleanup(ses.close)
	require.NoError(t, err)
	return ses, w
}

// late is when a test gives up.
func late() <-chan time.Time { return time.After(20 * time.Second) }

func TestABenchInRealTimeRestsWhileWorkIsDone(t *testing.T) {
	ses, w := sessionOn(t)
	const ticks = 200
	before, rises := ses.rig.Now(), w.rises.Load()
	rested := 0
	require.NoError(t, ses.meanwhile(t.Context(), func() {
		for gaveUp := late(); rested < ticks; rested++ {
			select {
			case <-w.waited:
			case <-gaveUp:
				return
			}
		}
	}))
	assert.Equal(t, ticks, rested, "the bench is played on while the work goes on")
	assert.GreaterOrEqual(t, ses.rig.Now()-before, ticks*signal.Millisecond)
	// Three receiver channels with a frame every 10 ms, steady wheels, yaw by messages.
	assert.GreaterOrEqual(t, w.rises.Load()-rises, int64(3*(ticks/10-1)), "at rest, and not silent")
}

func TestABenchInRealTimeGoesOnWhenWorkIsDone(t *testing.T) {
	ses, _ := sessionOn(t)
	ctx, stop := context.WithTimeout(t.Context(), 20*time.Second)
	defer stop()
	done := 0
	for range 3 {
		require.NoError(t, ses.meanwhile(ctx, func() { done++ }), "it does not rest for ever")
	}
	assert.Equal(t, 3, done)
}

// The work has what it uses until it is done, whatever becomes of the bench meanwhile.
func TestWorkIsDoneBeforeAFailureIsReported(t *testing.T) {
	t.Run("the bench fails", func(t *testing.T) {
		ses, w := sessionOn(t)
		w.fail.Store(true)
		var done atomic.Bool
		err := ses.meanwhile(t.Context(), func() {
			select {
			case <-w.failed:
			case <-late():
			}
			for range 1000 {
				runtime.Gosched()
			}
			done.Store(true)
		})
		assert.True(t, done.Load())
		assert.ErrorIs(t, err, errTornOff)
	})
	t.Run("the run is stopped", func(t *testing.T) {
		ses, w := sessionOn(t)
		ctx, stop := context.WithCancel(t.Context())
		var done atomic.Bool
		err := ses.meanwhile(ctx, func() {
			select {
			case <-w.waited:
			case <-late():
			}
			stop()
			for range 1000 {
				runtime.Gosched()
			}
			done.Store(true)
		})
		assert.True(t, done.Load())
		if err != nil { // work that ends at the same moment is no failure
			assert.ErrorIs(t, err, context.Canceled)
		}
	})
}

// In virtual time nothing passes while work is done.
func TestASimulatedBenchStandsStillWhileWorkIsDone(t *testing.T) {
	s := load(t, "", short)
	ses, err := s.open(t.Context(), s.Suites[0], s.board, nil)
	defer ses.close()
	require.NoError(t, err)
	before := ses.rig.Now()
	done := false
	require.NoError(t, ses.meanwhile(t.Context(), func() { done = true }))
	assert.True(t, done)
	assert.Equal(t, before, ses.rig.Now())
}
