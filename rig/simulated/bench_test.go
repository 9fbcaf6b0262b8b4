package simulated_test

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig/benchtest"
	"hilrig/rig/signal"
	"hilrig/rig/simulated"
)

const (
	us = signal.Microsecond
	ms = signal.Millisecond
)

// The lines of the echo bench.
const (
	lineIn signal.Line = iota
	lineOther
	lineSerial
	lineOut
	lineCopy
)

func layout() signal.Layout {
	return signal.Layout{
		Lines: []signal.LineSpec{
			{Name: "in"}, {Name: "other"}, {Name: "serial", Idle: true, Role: signal.SerialData},
			{Name: "out", Direction: signal.Capture}, {Name: "copy", Direction: signal.Capture},
		},
		Ports: []signal.PortSpec{{Name: "serial", Line: lineSerial, Baud: 115200}},
	}
}

// echo is a board that copies in to out and the serial line to copy, delayed.
type echo struct {
	delay   signal.Time
	until   signal.Time
	pending []signal.Edge
	level   map[signal.Line]bool
	seen    []signal.Edge // all that it was given
	corrupt func(out []signal.Edge) ([]signal.Edge, error)
	closed  int
}

func (e *echo) Name() string { return "echo" }

func (e *echo) Run(in []signal.Edge, until signal.Time, out []signal.Edge) ([]signal.Edge, error) {
	for _, i := range in {
		if i.At < e.until || i.At > until {
			return out, fmt.Errorf("edge at %v in the step from %v to %v", i.At, e.until, until)
		}
		if e.seen != nil {
			e.seen = append(e.seen, i)
		}
		switch i.Line {
		case lineIn:
			e.pending = append(e.pending, signal.Edge{At: i.At + e.delay, Line: lineOut, Level: i.Level})
		case lineSerial:
			e.pending = append(e.pending, signal.Edge{At: i.At + e.delay, Line: lineCopy, Level: !i.Level})
		}
	}
	n := 0
	for n < len(e.pending) && e.pending[n].At <= until {
		e.level[e.pending[n].Line] = e.pending[n].Level
		n++
	}
	out = append(out, e.pending[:n]...)
	e.pending = append(e.pending[:0], e.pending[n:]...)
	e.until = until
	if e.corrupt != nil {
		return e.corrupt(out)
	}
	return out, nil
}

func (e *echo) Restart(at signal.Time) error {
	e.pending = e.pending[:0]
	for _, l := range []signal.Line{lineOut, lineCopy} {
		if e.level[l] {
			e.pending = append(e.pending, signal.Edge{At: at, Line: l})
		}
	}
	return nil
}

func (e *echo) Close() error { e.closed++; return nil }

func newEcho() *echo { return &echo{delay: 700, level: map[signal.Line]bool{}} }

// open returns a bench with an echo board on it.
func open(t testing.TB, b *echo, s simulated.Settings) *simulated.Bench {
	s.Layout, s.Board = layout(), b
	bench, err := simulated.New(s)
	require.NoError(t, err)
	return bench
}

func TestConformance(t *testing.T) {
	for _, c := range []struct {
		name    string
		sampler simulated.Sampler
		delay   signal.Time
	}{
		{name: "perfect"},
		{name: "sampled", sampler: simulated.Sampler{Period: 3 * us}, delay: 3 * us},
		{
			name: "sampled with stalls", delay: 203 * us,
			sampler: simulated.Sampler{
				Period: 3 * us,
				Stalls: simulated.Stalls{Mean: ms, Least: 20 * us, Most: 200 * us, Draw: counter()},
			},
		},
	} {
		t.Run(c.name, func(t *testing.T) {
			benchtest.Run(t, func(t testing.TB) benchtest.Subject {
				return benchtest.Subject{
					Bench: open(t, newEcho(), simulated.Settings{Sampler: c.sampler}),
					From:  lineIn, To: lineOut, Delay: us + c.delay,
					CanRestart: true, CanDisturb: true,
				}
			})
		})
	}
}

// counter returns a source of 64 bits that are spread evenly enough.
func counter() func() uint64 {
	n := uint64(0)
	return func() uint64 { n += 0x9e3779b97f4a7c15; return n >> 11 }
}

func pulse(at, width signal.Time) []signal.Edge {
	return []signal.Edge{{At: at, Line: lineIn, Level: true}, {At: at + width, Line: lineIn}}
}

func TestPerfectSamplerGivesTrueTimes(t *testing.T) {
	b := open(t, newEcho(), simulated.Settings{})
	require.NoError(t, b.Drive(pulse(1000, 10), ms))
	require.NoError(t, b.Wait(1705))
	got, err := b.Captured(nil)
	require.NoError(t, err)
	assert.Equal(t, []signal.Edge{{At: 1700, Line: lineOut, Level: true}}, got)
	require.NoError(t, b.Wait(ms))
	got, err = b.Captured(got)
	require.NoError(t, err)
	assert.Equal(t, []signal.Edge{{At: 1700, Line: lineOut, Level: true}, {At: 1710, Line: lineOut}}, got)
}

func TestDrivenAndSentEdgesReachTheBoardInOrder(t *testing.T) {
	e := newEcho()
	e.seen = []signal.Edge{}
	b := open(t, e, simulated.Settings{})
	require.NoError(t, b.Drive(append(pulse(5*us, 20*us), pulse(30*us, 500*us)...), ms))
	// 0x0F: start bit, four ones, four zeros, stop bit.
	end, err := b.Send(0, 10*us, []byte{0x0F})
	require.NoError(t, err)
	for at := signal.Time(0); at <= ms; at += 7 * us {
		require.NoError(t, b.Wait(at))
	}
	bit := func(n float64) signal.Time { return 10*us + signal.Time(n*1e9/115200+0.5) }
	assert.Equal(t, bit(10), end)
	assert.Equal(t, []signal.Edge{
		{At: 5 * us, Line: lineIn, Level: true},
		{At: bit(0), Line: lineSerial},
		{At: bit(1), Line: lineSerial, Level: true},
		{At: 25 * us, Line: lineIn},
		{At: 30 * us, Line: lineIn, Level: true},
		{At: bit(5), Line: lineSerial},
		{At: bit(9), Line: lineSerial, Level: true},
		{At: 530 * us, Line: lineIn},
	}, sortedAt(t, e.seen))
}

// sortedAt checks that edges are in order of time.
func sortedAt(t *testing.T, edges []signal.Edge) []signal.Edge {
	for i := 1; i < len(edges); i++ {
		require.GreaterOrEqual(t, edges[i].At, edges[i-1].At)
	}
	return edges
}

func TestBadUseNamesLineAndTime(t *testing.T) {
	b := open(t, newEcho(), simulated.Settings{})
	require.NoError(t, b.Drive(nil, 2*ms))
	require.NoError(t, b.Wait(ms))
	edge := func(at signal.Time, line signal.Line, level bool) []signal.Edge {
		return []signal.Edge{{At: at, Line: line, Level: level}}
	}
	for _, c := range []struct {
		name  string
		edges []signal.Edge
		want  string
	}{
		{"past", edge(ms/2, lineIn, true), "driven edge on in at 0.0005 s is of the past: it is 0.001 s, and edges were handed over until 0.002 s"},
		{"captured", edge(2*ms, lineOut, true), "driven edge at 0.002 s on out, which the board drives"},
		{"port", edge(2*ms, lineSerial, false), "driven edge at 0.002 s on serial, which is the line of port serial; send bytes to it"},
		{"repeated", edge(2*ms, lineOther, false), "driven edge on other at 0.002 s repeats the level that it has"},
		{"future", edge(4*ms, lineIn, true), "driven edge on in at 0.004 s is later than 0.003 s"},
		{"no line", edge(2*ms, 99, true), "driven edge at 0.002 s on line 99"},
	} {
		assert.ErrorContains(t, b.Drive(c.edges, 3*ms), c.want, c.name)
	}
	assert.ErrorContains(t, b.Drive(nil, ms), "drive until 0.001 s, but it is 0.001 s and edges were handed over until 0.002 s")
	assert.ErrorContains(t, b.Wait(ms/2), "wait until 0.0005 s, which is past at 0.001 s")
	_, err := b.Send(0, 0, nil)
	assert.ErrorContains(t, err, "send on serial at 0 s, which is past at 0.001 s")
	_, err = b.Send(7, ms, nil)
	assert.ErrorContains(t, err, "port 7")

	bad := append(pulse(2*ms, us), signal.Edge{At: 2*ms + 2*us, Line: lineOut})
	require.Error(t, b.Drive(bad, 3*ms))
	assert.NoError(t, b.Drive(bad[:2], 3*ms), "nothing of a refused call was handed over")
}

func TestBadBoardIsNamed(t *testing.T) {
	for _, c := range []struct {
		name string
		edge signal.Edge
		want string
	}{
		{"past", signal.Edge{At: ms / 2, Line: lineOut, Level: true}, "board echo put an edge on out at 0.0005 s, after one at 0.001 s"},
		{"future", signal.Edge{At: 3 * ms, Line: lineOut, Level: true}, "board echo put an edge on out at 0.003 s, but was only run until 0.002 s"},
		{"driven line", signal.Edge{At: 2 * ms, Line: lineIn, Level: true}, "board echo put an edge on in, which the rig drives"},
		{"no line", signal.Edge{At: 2 * ms, Line: 50}, "board echo put an edge on line 50"},
	} {
		t.Run(c.name, func(t *testing.T) {
			e := newEcho()
			b := open(t, e, simulated.Settings{Responders: []simulated.Responding{{Responder: follower{}}}})
			require.NoError(t, b.Wait(ms))
			e.corrupt = func(out []signal.Edge) ([]signal.Edge, error) {
				if e.until < 2*ms && c.name != "past" {
					return out, nil
				}
				return append(out, c.edge), nil
			}
			assert.ErrorContains(t, b.Wait(2*ms), c.want)
		})
	}
	e := newEcho()
	b := open(t, e, simulated.Settings{})
	e.corrupt = func(out []signal.Edge) ([]signal.Edge, error) { return out, assert.AnError }
	assert.ErrorIs(t, b.Wait(ms), assert.AnError)
}

func TestCloseClosesTheBoardOnce(t *testing.T) {
	e := newEcho()
	b := open(t, e, simulated.Settings{})
	require.NoError(t, b.Close())
	require.NoError(t, b.Close())
	assert.Equal(t, 1, e.closed)
	assert.Error(t, b.Wait(ms))
	assert.Error(t, b.Drive(nil, ms))
	assert.Error(t, b.Restart())
	assert.NoError(t, b.Safe())
	_, err := b.Send(0, 0, nil)
	assert.Error(t, err)
	_, err = b.Captured(nil)
	assert.Error(t, err)
}

func TestNewRefusesWhatDoesNotHangTogether(t *testing.T) {
	for _, c := range []struct {
		name   string
		change func(s *simulated.Settings)
		want   string
	}{
		{"no board", func(s *simulated.Settings) { s.Board = nil }, "no board"},
		{"baud", func(s *simulated.Settings) { s.Layout.Ports[0].Baud = 7 }, "7 baud"},
		{"port on a captured line", func(s *simulated.Settings) { s.Layout.Ports[0].Line = lineOut }, "no driven line"},
		{"level at rest", func(s *simulated.Settings) { s.Layout.Ports[0].Inverted = true }, "rests at the other level"},
		{"shared line", func(s *simulated.Settings) { s.Layout.Ports = append(s.Layout.Ports, s.Layout.Ports[0]) }, "share line"},
		{"period", func(s *simulated.Settings) { s.Sampler.Period = -1 }, "sampler's period"},
		{"stalls", func(s *simulated.Settings) {
			s.Sampler = simulated.Sampler{Period: us, Stalls: simulated.Stalls{Mean: ms}}
		}, "stalls need"},
		{"stall lengths", func(s *simulated.Settings) { s.Sampler.Stalls = simulated.Stalls{Least: 2, Most: 1} }, "stalls of"},
		{"responder", func(s *simulated.Settings) {
			s.Responders = []simulated.Responding{{Responder: follower{}, Lines: []signal.Line{40}}}
		}, "listens to line 40"},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := simulated.Settings{Layout: layout(), Board: newEcho()}
			c.change(&s)
			_, err := simulated.New(s)
			assert.ErrorContains(t, err, c.want)
		})
	}
}

func TestRestartCutsTheBoardsOutputsAtOnce(t *testing.T) {
	b := open(t, newEcho(), simulated.Settings{})
	require.NoError(t, b.Drive(pulse(1000, ms/2), ms))
	require.NoError(t, b.Wait(10*us))
	require.NoError(t, b.Restart())
	got, err := b.Captured(nil)
	require.NoError(t, err)
	assert.Equal(t, []signal.Edge{{At: 1700, Line: lineOut, Level: true}, {At: 10 * us, Line: lineOut}}, got)
}

func TestWaitPlaysUpToAndIncludingItsTime(t *testing.T) {
	e := newEcho()
	e.seen = []signal.Edge{}
	b := open(t, e, simulated.Settings{})
	require.NoError(t, b.Drive(pulse(ms, 1), 2*ms))
	require.NoError(t, b.Wait(ms))
	assert.Len(t, e.seen, 1)
}

func TestSafeLeavesASerialLineAtRest(t *testing.T) {
	e := newEcho()
	e.seen = []signal.Edge{}
	b := open(t, e, simulated.Settings{})
	_, err := b.Send(0, us, []byte{0, 0})
	require.NoError(t, err)
	require.NoError(t, b.Wait(20*us))
	require.NoError(t, b.Safe())
	require.NoError(t, b.Safe())
	end, err := b.Send(0, 20*us, []byte{0xFF})
	require.NoError(t, err)
	assert.Less(t, end, 120*us)
	require.NoError(t, b.Wait(ms))
	assert.Equal(t, []signal.Edge{
		{At: us, Line: lineSerial},
		{At: 20 * us, Line: lineSerial, Level: true}, // safe
		{At: 20 * us, Line: lineSerial},
		{At: 20*us + 8681, Line: lineSerial, Level: true},
	}, e.seen)
}

func TestDriveBeginsAnewAfterSafe(t *testing.T) {
	b := open(t, newEcho(), simulated.Settings{})
	require.NoError(t, b.Drive(pulse(5*ms, us), 10*ms))
	require.NoError(t, b.Safe())
	assert.NoError(t, b.Drive(pulse(ms, us), 2*ms))
}

func TestRepeatedLevelOfABoardIsNoEdge(t *testing.T) {
	e := newEcho()
	b := open(t, e, simulated.Settings{})
	e.corrupt = func(out []signal.Edge) ([]signal.Edge, error) {
		return append(out, signal.Edge{At: e.until, Line: lineOut, Level: true}), nil
	}
	require.NoError(t, b.Wait(ms))
	require.NoError(t, b.Wait(2*ms))
	got, err := b.Captured(nil)
	require.NoError(t, err)
	assert.Equal(t, []signal.Edge{{At: ms, Line: lineOut, Level: true}}, got)
}
