package rig_test

import (
	"context"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig"
	"hilrig/rig/board"
	"hilrig/rig/decode"
	"hilrig/rig/signal"
	"hilrig/rig/simulated"
	"hilrig/rig/trace"
	"hilrig/stimulus"
)

// wiredFor returns a wiring whose motor commands come in one format.
func wiredFor(k decode.MotorKind) rig.Wiring {
	w := wiring()
	for i := range w.Motors {
		w.Motors[i].Kind = k
		if k == decode.OneShot125 {
			w.Motors[i].Servo = decode.Servo{}
		}
	}
	return w
}

// over plays a program on a board with that wiring.
func over(t testing.TB, w rig.Wiring, b board.Board, p *stimulus.Program) *trace.Trace {
	bench, err := simulated.New(simulated.Settings{Layout: w.Layout(), Board: b})
	require.NoError(t, err)
	defer bench.Close()
	r, err := rig.New(bench, rig.Settings{Wiring: w, Car: car(), Seed: 1})
	require.NoError(t, err)
	tr := new(trace.Trace)
	require.NoError(t, r.Play(context.Background(), p, tr))
	return tr
}

// A motor that is told to stop has the command 0 from then on, though a stop is
// no throttle.
func TestStopIsNoThrottle(t *testing.T) {
	w := wiredFor(decode.DShot600)
	s := board.Bramble()
	s.Output = board.Output{Format: board.DShot600, StopAtIdle: true}
	s.OutputPeriod = signal.Millisecond
	b, err := board.NewBuiltIn(s, w.Layout(), 1)
	require.NoError(t, err)
	var p stimulus.Program
	p.Gain.Hold(0, 0)
	p.Throttle.Hold(0, 0.5)
	p.Throttle.Hold(300*signal.Millisecond, 0)
	p.Length = 600 * signal.Millisecond
	tr := over(t, w, b, &p)
	command := tr.Column[trace.MotorRearLeft]
	assert.InDelta(t, 0.5, command[290], 0.001)
	assert.Zero(t, command[400], "told to stop")
	o := &tr.Motor[2]
	assert.NotEmpty(t, o.Frames)
	last := o.Frames[len(o.Frames)-1].End
	assert.Less(t, last, 350*signal.Millisecond, "no throttle after that")
	assert.Equal(t, trace.Stop, o.Events[len(o.Events)-1].Kind)
}

// scribbler is a board that puts out what comes to its mind.
type scribbler struct {
	layout signal.Layout
	random *rand.Rand
	pace   int64 // ns from edge to edge, at most
	at     signal.Time
}

func (b *scribbler) Name() string { return "scribbler" }

func (b *scribbler) Run(_ []signal.Edge, until signal.Time, out []signal.Edge) ([]signal.Edge, error) {
	for {
		next := b.at + 1 + signal.Time(b.random.Int64N(b.pace))
		if next > until {
			b.at = until
			return out, nil
		}
		b.at = next
		line := signal.Line(len(b.layout.Lines) - 4 + b.random.IntN(4))
		out = append(out, signal.Edge{At: b.at, Line: line, Level: b.random.IntN(2) == 0})
	}
}

func (b *scribbler) Restart(signal.Time) error { return nil }

func (b *scribbler) Close() error { return nil }

// Whatever a board scribbles, in any format, the drive goes on with commands in
// range, and what was no command is an event.
func TestScribblingBoards(t *testing.T) {
	for k := range decode.MotorKinds {
		for _, pace := range []int64{400, 3000, 100_000, 3_000_000, 300_000_000} {
			w := wiredFor(k)
			p := closed(200 * signal.Millisecond)
			tr := over(t, w, &scribbler{layout: w.Layout(), random: rand.New(rand.NewPCG(uint64(pace), 1)), pace: pace}, p)
			for m := range tr.Motor {
				assert.NotEmpty(t, tr.Motor[m].Events, "%v every %d ns", k, pace)
				for _, f := range tr.Motor[m].Frames {
					assert.LessOrEqual(t, f.Start, f.End)
				}
				for _, c := range tr.Column[int(trace.MotorFrontLeft)+m] {
					require.True(t, c >= -0.6 && c <= 1.6, "%v", c)
				}
			}
			for c := range trace.Channels {
				for _, x := range tr.Column[c] {
					require.False(t, x != x, "%v is not a number", c)
				}
			}
		}
	}
}
