package rig_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig"
	"hilrig/rig/signal"
	"hilrig/rig/trace"
	"hilrig/stimulus"
)

// sluggish is a bench whose time is real: it goes on by itself, here when a test says so.
type sluggish struct {
	layout signal.Layout
	now    signal.Time
	stalls map[signal.Time]signal.Time // how much longer the wait until a time takes
	until  []signal.Time               // of each call of Drive
	edges  []signal.Edge
	sent   []signal.Time
}

func (s *sluggish) Layout() signal.Layout { return s.layout }
func (s *sluggish) Now() signal.Time      { return s.now }

func (s *sluggish) Drive(edges []signal.Edge, until signal.Time) error {
	s.until, s.edges = append(s.until, until), append(s.edges, edges...)
	return nil
}

func (s *sluggish) Send(_ signal.Port, at signal.Time, data []byte) (signal.Time, error) {
	s.sent = append(s.sent, at)
	return at + signal.Time(len(data))*87*us, nil
}

func (s *sluggish) Wait(t signal.Time) error {
	s.now = max(s.now, t) + s.stalls[t]
	return nil
}

func (s *sluggish) Captured(dst []signal.Edge) ([]signal.Edge, error)           { return dst, nil }
func (s *sluggish) Exact() bool                                                 { return true }
func (s *sluggish) ReadBack(dst []signal.Edge) ([]signal.Edge, error)           { return dst, nil }
func (s *sluggish) Samples(signal.Line) bool                                    { return false }
func (s *sluggish) LateStretches(dst []signal.LateStretch) []signal.LateStretch { return dst }
func (s *sluggish) Disturb(signal.Port, signal.Disturber) error                 { return rig.ErrNoDisturbing }
func (s *sluggish) Restart() error                                              { return nil }
func (s *sluggish) Safe() error                                                 { return nil }
func (s *sluggish) Close() error                                                { return nil }

// forget drops what was handed over so far.
func (s *sluggish) forget() { s.until, s.edges, s.sent = nil, nil, nil }

func onSluggish(t *testing.T) (*rig.Rig, *sluggish) {
	w := wiring()
	s := &sluggish{layout: w.Layout(), stalls: map[signal.Time]signal.Time{}}
	r, err := rig.New(s, rig.Settings{Wiring: w, Car: car(), Seed: 3})
	require.NoError(t, err)
	return r, s
}

// atTen has the wheels turn fast enough for edges in each tick.
func atTen(length signal.Time) *stimulus.Program {
	return stimulus.Held(stimulus.Values{Speed: 10, Throttle: 0.4, Gain: 0.5}, length)
}

// A loop that is late by up to five ticks hands everything over, to be played at once
// and counted as late. One that is later leaves ticks out until it has come to the
// present, not merely until it is less late, and lists the span.
func TestALoopThatIsTooLateLeavesTicksOut(t *testing.T) {
	const ms, stall = signal.Millisecond, 20 * signal.Millisecond
	tests := []struct {
		name    string
		stalled signal.Time // beyond the tick that is computed next
		left    int         // ticks
	}{
		{"in time", -ms, 0},
		{"late by five ticks", 5 * ms, 0},
		{"late by more than five", 5*ms + 1, 6},
		{"late by forty and a half", 40*ms + ms/2, 41},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			r, s := onSluggish(t)
			s.stalls[stall] = ms + tt.stalled
			var tr trace.Trace
			require.NoError(t, r.Play(t.Context(), atTen(100*ms), &tr))
			assert.Equal(t, 100, tr.Rows(), "the program's time goes on")

			var want []signal.Time // ends of the ticks that are handed over
			next := stall + ms
			for at := ms; at <= 100*ms; at += ms {
				if at < next || at >= next+signal.Time(tt.left)*ms {
					want = append(want, at+ms)
				}
			}
			assert.Equal(t, want, s.until)
			gap, back := next, next+signal.Time(tt.left)*ms
			for _, e := range s.edges {
				assert.False(t, e.At >= gap && e.At < back, "an edge at %v", e.At)
			}
			for _, at := range s.sent {
				assert.False(t, at >= gap && at < back, "a frame at %v", at)
			}
			assert.Greater(t, len(s.sent), 10, "frames go on")
			if tt.left == 0 {
				assert.Empty(t, tr.Delays)
				return
			}
			assert.Equal(t, []trace.Delay{{From: next, To: next + tt.stalled, Worst: tt.stalled}}, tr.Delays)
			timing := r.Timing()
			assert.Equal(t, tt.stalled, timing.Late)
			assert.Greater(t, timing.LateCount, int64(0))
		})
	}
}

// What time passed between two programs is not made up for: the next begins with the
// first tick that is still to come, and frames of the past are not sent.
func TestAProgramBeginsWithATickThatIsStillToCome(t *testing.T) {
	const ms = signal.Millisecond
	for _, tt := range []struct {
		name   string
		passes signal.Time
		starts signal.Time // of the second program, after the first's end
	}{
		{"none", 0, 0},
		{"less than a tick", ms - 1, 0},
		{"to the tick", ms, ms},
		{"much", 40*ms + ms/2, 40 * ms},
	} {
		t.Run(tt.name, func(t *testing.T) {
			r, s := onSluggish(t)
			var tr trace.Trace
			require.NoError(t, r.Play(t.Context(), atTen(20*ms), &tr))
			require.Equal(t, ms, tr.Start)
			next := s.now + ms
			s.forget()
			s.now += tt.passes
			require.NoError(t, r.Play(t.Context(), atTen(20*ms), &tr))
			assert.Equal(t, next+tt.starts, tr.Start)
			assert.Equal(t, tr.Start+ms, s.until[0])
			require.NotEmpty(t, s.edges)
			assert.GreaterOrEqual(t, s.edges[0].At, tr.Start)
			assert.Empty(t, tr.Delays, "it is late for nothing")
			require.Len(t, s.sent, 4, "a frame every 5 ms, none for what has passed")
			assert.GreaterOrEqual(t, s.sent[0], tr.Start)
		})
	}
}
