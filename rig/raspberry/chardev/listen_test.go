//go:build linux

package chardev

import (
	"errors"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"hilrig/rig/decode"
	"hilrig/rig/raspberry/cdev"
	"hilrig/rig/signal"
	"hilrig/rig/trace"
)

// scripted is inputs whose events a test hands over, and the clock beside them.
type scripted struct {
	events []cdev.Event
	err    error
	now    signal.Time
	start  uint64
}

func (s *scripted) Await(time.Duration) error { return nil }
func (s *scripted) Start() uint64             { return s.start }
func (s *scripted) Close() error              { return nil }
func (s *scripted) Read(dst []cdev.Event) (int, error) {
	n := copy(dst, s.events)
	s.events = s.events[n:]
	return n, s.err
}

// listening returns a listener to two lines, 7 and 8 of the layout, with a uncertainty of 3 us.
func listening() (*scripted, *listener) {
	s := &scripted{}
	return s, newListener(s, []signal.Line{7, 8}, func() signal.Time { return s.now }, 1000, 3*us, 100*us)
}

// at is an event, at a time in us.
func (s *scripted) at(at signal.Time, line int, rising bool, number uint32, again bool) {
	s.events = append(s.events, cdev.Event{At: int64(at*us) + 1000, Line: line, Rising: rising, Number: number, Repeated: again})
}

// edge is an edge as reported, times in us.
func edge(at, late signal.Time, line signal.Line, level bool) signal.Edge {
	return signal.Edge{At: at * us, Uncertainty: uint32(late * us), Line: line, Level: level}
}

func TestListenerReportsWhatIsSettledInOrder(t *testing.T) {
	s, l := listening()
	s.at(50, 1, true, 2, false)
	s.at(40, 0, true, 1, false) // it was overtaken
	s.at(160, 0, false, 3, false)
	s.now = 250 * us
	edges, _, err := l.appendReported([]signal.Edge{{At: 1}})
	require.NoError(t, err)
	assert.Equal(t, []signal.Edge{{At: 1}, edge(40, 3, 7, true), edge(50, 3, 8, true)}, edges)
	assert.Equal(t, 150*us, l.reported)

	s.now = 260 * us
	up, err := l.upTo()
	require.NoError(t, err)
	assert.Equal(t, 160*us, up)
	edges, _, err = l.appendReported(nil)
	require.NoError(t, err)
	assert.Equal(t, []signal.Edge{edge(160, 3, 7, false)}, edges)
	assert.Zero(t, l.counted())
}

func TestListenerReportsWhatTheKernelMissed(t *testing.T) {
	for _, row := range []struct {
		name   string
		events func(s *scripted)
		edges  []signal.Edge
		count  Count
	}{
		{"missing numbers blind every line, since the event before them", func(s *scripted) {
			s.at(100, 0, true, 1, false)
			s.at(900, 0, false, 4, false)
		}, []signal.Edge{edge(100, 3, 7, true), edge(900, 803, 7, true), edge(900, 803, 8, false), edge(900, 3, 7, false)},
			Count{Lost: 2}},
		{"missing before the first", func(s *scripted) {
			s.at(100, 1, true, 2, false)
		}, []signal.Edge{edge(100, 103, 7, false), edge(100, 103, 8, false), edge(100, 3, 8, true)},
			Count{Lost: 1}},
		{"an edge between two of one direction", func(s *scripted) {
			s.at(100, 0, true, 1, false)
			s.at(900, 0, true, 2, true)
		}, []signal.Edge{edge(100, 3, 7, true), edge(900, 803, 7, false), edge(900, 3, 7, true)},
			Count{Repeated: 1}},
		{"both: two edges became one event", func(s *scripted) {
			s.at(100, 1, true, 1, false)
			s.at(900, 0, false, 3, true)
		}, []signal.Edge{edge(100, 3, 8, true), edge(900, 803, 7, false), edge(900, 803, 8, true), edge(900, 903, 7, true), edge(900, 3, 7, false)},
			Count{Lost: 1, Repeated: 1}},
		{"an event of another line that comes a little later is not missing", func(s *scripted) {
			s.at(100, 0, true, 2, false)
			s.at(101, 1, true, 1, false)
			s.at(200, 0, false, 3, false)
		}, []signal.Edge{edge(100, 3, 7, true), edge(101, 3, 8, true), edge(200, 3, 7, false)},
			Count{}},
	} {
		t.Run(row.name, func(t *testing.T) {
			s, l := listening()
			row.events(s)
			s.now = signal.Second
			edges, _, err := l.appendReported(nil)
			require.NoError(t, err)
			assert.Equal(t, row.edges, edges)
			assert.Equal(t, row.count, l.counted())
		})
	}
}

// An event that was given up and comes after all: its edge lies before what was reported,
// and so its time is reported as not known.
func TestListenerReportsWhatComesTooLate(t *testing.T) {
	s, l := listening()
	s.at(500, 0, true, 2, false)
	s.now = 700 * us
	_, _, err := l.appendReported(nil)
	require.NoError(t, err)
	assert.Equal(t, Count{Lost: 1}, l.counted())
	s.at(450, 1, true, 1, false)
	s.now = 900 * us
	edges, _, err := l.appendReported(nil)
	require.NoError(t, err)
	assert.Equal(t, []signal.Edge{edge(600, 153, 8, true)}, edges)
	assert.Equal(t, Count{OutOfOrder: 1}, l.counted())
}

func TestListenerNumbersWrap(t *testing.T) {
	s, l := listening()
	l.number = 1<<32 - 2
	s.at(100, 0, true, 0, false)
	s.at(90, 1, true, 1<<32-1, false)
	s.at(200, 0, false, 2, false)
	s.now = signal.Second
	_, _, err := l.appendReported(nil)
	require.NoError(t, err)
	assert.Equal(t, Count{Lost: 1}, l.counted())
}

func TestListenerFailsVisibly(t *testing.T) {
	s, l := listening()
	for i := range mostEdges + 10 {
		s.at(signal.Time(i+1), 0, i%2 == 0, uint32(i+1), false)
	}
	s.now = signal.Second
	edges, _, err := l.appendReported(nil)
	require.ErrorContains(t, err, "10 edges that were heard were lost")
	assert.Len(t, edges, mostEdges)
	_, _, err = l.appendReported(nil)
	require.NoError(t, err)

	s.err = errors.New("the chip has gone")
	for range 2 {
		_, _, err = l.appendReported(nil)
		require.ErrorIs(t, err, s.err)
	}
}

// A servo line of which the kernel loses edges: the pulse that it concerns is counted
// as uncertain, the others are read.
func TestLostEdgesMakeTheirPulseUncertain(t *testing.T) {
	for _, row := range []struct {
		name      string
		lost      []int // of the edges of line 0, in turn
		frames    int   // of ten pulses
		uncertain int
		other     int // frames of the other line
		counted   bool
	}{
		{"none", nil, 10, 0, 10, true},
		{"a rise", []int{6}, 9, 1, 10, true},
		{"a fall", []int{7}, 9, 1, 9, true},
		{"a fall that is not counted", []int{7}, 9, 1, 10, false},
		{"a rise that is not counted", []int{6}, 9, 1, 10, false},
		{"a pulse", []int{6, 7}, 9, 0, 9, true},
		{"from fall to rise", []int{7, 8}, 8, 1, 9, true},
	} {
		t.Run(row.name, func(t *testing.T) {
			s, l := listening()
			level, number := [2]bool{}, uint32(0)
			for i := range 20 {
				for line := range 2 {
					lost := line == 0 && slices.Contains(row.lost, i)
					rising := i%2 == 0
					if !lost || row.counted {
						number++
					}
					if !lost {
						// Pulses of 1500 us, those of the second line begin 700 us later.
						at := signal.Time(i/2*20000 + i%2*1500 + line*700 + 1000)
						s.at(at, line, rising, number, level[line] == rising)
						level[line] = rising
					}
				}
			}
			s.now = signal.Second
			edges, _, err := l.appendReported(nil)
			require.NoError(t, err)
			out := [2]trace.Output{}
			for line := range out {
				d, err := decode.NewServo(decode.Servo{Idle: 1000 * us, Full: 2000 * us})
				require.NoError(t, err)
				for _, e := range edges {
					if int(e.Line) == 7+line {
						d.Edge(e, &out[line])
					}
				}
			}
			assert.Len(t, out[0].Frames, row.frames)
			for _, f := range append(out[0].Frames, out[1].Frames...) {
				assert.InDelta(t, 0.5, f.Value, 1e-9)
				assert.InDelta(t, 0.003, f.Uncertainty, 1e-9)
			}
			n := 0
			for _, e := range out[0].Events {
				if e.Kind == trace.Uncertain {
					n++
				}
			}
			assert.Equal(t, row.uncertain, n)
			assert.Len(t, out[1].Frames, row.other)
		})
	}
}

// Whatever the kernel loses and however events overtake each other: where the listener
// says that a line was watched, nothing happened that it did not tell, and each edge
// that it tells did happen, within its Late.
func TestListenerNeverClaimsWhatWasNot(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		const uncertainty = 3 * us
		s := &scripted{}
		l := newListener(s, []signal.Line{0, 1, 2}, func() signal.Time { return s.now }, 0, uncertainty, 100*us)
		truth := [3][]signal.Time{}
		seen := [3]bool{}
		var events []cdev.Event
		now := signal.Time(1)
		for number := uint32(1); number < 60; number++ {
			now += signal.Time(rapid.IntRange(4, 400).Draw(t, "apart")) * us
			line := rapid.IntRange(0, 2).Draw(t, "line")
			truth[line] = append(truth[line], now)
			if rapid.IntRange(0, 5).Draw(t, "lost") == 0 {
				continue
			}
			rising := len(truth[line])%2 == 1
			stamp := now + signal.Time(rapid.IntRange(0, int(uncertainty)-1).Draw(t, "late stamp"))
			events = append(events, cdev.Event{At: int64(stamp), Line: line, Rising: rising, Number: number, Repeated: seen[line] == rising})
			seen[line] = rising
		}
		var reported []signal.Edge
		for len(events) > 0 {
			n := rapid.IntRange(1, len(events)).Draw(t, "read together")
			s.events = slices.Clone(events[:n])
			s.now = signal.Time(events[n-1].At) + signal.Time(rapid.IntRange(0, 300).Draw(t, "read later"))*us
			events = events[n:]
			var err error
			reported, _, err = l.appendReported(reported)
			require.NoError(t, err)
		}
		s.now += ms
		reported, _, err := l.appendReported(reported)
		require.NoError(t, err)
		for line := range truth {
			hold(t, truth[line], reported, signal.Line(line))
		}
	})
}

// hold holds what was reported of a line against when its level truly changed.
func hold(t *rapid.T, truth []signal.Time, reported []signal.Edge, line signal.Line) {
	watched := signal.Time(0) // up to here nothing is open
	level := false
	for _, e := range reported {
		if e.Line != line {
			continue
		}
		from := e.At - signal.Time(e.Uncertainty)
		for _, change := range truth {
			if change > watched && change <= from {
				t.Fatalf("line %d changed at %v, and was said to be %t from %v to %v", line, change, level, watched, from)
			}
		}
		if e.Level != level {
			happened := func(change signal.Time) bool { return change > from && change <= e.At }
			if !slices.ContainsFunc(truth, happened) {
				t.Fatalf("line %d did not change from %v to %v", line, from, e.At)
			}
		}
		watched, level = max(watched, e.At), e.Level
	}
}
