package simulated_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig/board"
	"hilrig/rig/signal"
	"hilrig/rig/simulated"
)

// busy is a bench with the built-in board whose encoders give 30000 edges a
// second each; tick plays a millisecond of them and a tenth of a frame.
type busy struct {
	bench    *simulated.Bench
	lines    []signal.Line
	level    []bool
	now      signal.Time
	edges    []signal.Edge
	captured []signal.Edge
}

func newBusy(t testing.TB, s simulated.Sampler) *busy {
	b := &busy{}
	drive := []string{"steer", "throttle", "gain"}
	wheels := []string{"front_left", "front_right", "rear_left", "rear_right"}
	for _, w := range wheels {
		drive = append(drive, w+"_a", w+"_b")
	}
	var l signal.Layout
	for _, name := range drive {
		l.Lines = append(l.Lines, signal.LineSpec{Name: name})
	}
	for i := 3; i < len(drive); i++ {
		b.lines = append(b.lines, signal.Line(i))
	}
	l.Ports = []signal.PortSpec{{Name: "yaw_serial", Line: signal.Line(len(drive)), Baud: 115200}}
	l.Lines = append(l.Lines, signal.LineSpec{Name: "yaw_serial", Idle: true, Role: signal.SerialData})
	for _, w := range wheels {
		l.Lines = append(l.Lines, signal.LineSpec{Name: "motor_" + w, Direction: signal.Capture})
	}
	b.level = make([]bool, len(b.lines))
	built, err := board.NewBuiltIn(board.Bramble(), l, 1)
	require.NoError(t, err)
	b.bench, err = simulated.New(simulated.Settings{Layout: l, Board: built, Sampler: s})
	require.NoError(t, err)
	return b
}

func (b *busy) tick(t testing.TB) {
	b.edges = b.edges[:0]
	const edges = 30 // of each wheel: A and B in turn
	for i := range signal.Time(edges) {
		for wheel := range 4 {
			k := 2*wheel + int(i&1)
			b.level[k] = !b.level[k]
			b.edges = append(b.edges, signal.Edge{At: b.now + i*(ms/edges) + signal.Time(wheel), Line: b.lines[k], Level: b.level[k]})
		}
	}
	err := b.bench.Drive(b.edges, b.now+ms)
	if err == nil && b.now%(5*ms) == 0 {
		_, err = b.bench.Send(0, b.now, []byte{0xA5, 0x5A, 0, 0, 0, 0})
	}
	b.now += ms
	if err == nil {
		err = b.bench.Wait(b.now)
	}
	if err == nil {
		b.captured, err = b.bench.Captured(b.captured[:0])
	}
	if err != nil {
		t.Fatal(err)
	}
}

func TestTickAllocatesNothing(t *testing.T) {
	for _, s := range []simulated.Sampler{{}, {Period: us, Stalls: simulated.Stalls{Mean: ms, Most: 50 * us, Draw: counter()}}} {
		b := newBusy(t, s)
		for range 100 {
			b.tick(t)
		}
		// Ten times over, so that a single allocation of the runtime's own is less than one each.
		assert.Zero(t, testing.AllocsPerRun(10, func() {
			for range 500 {
				b.tick(t)
			}
		}))
	}
}

// BenchmarkTick is a millisecond of a bench with the built-in board, all
// encoders at 30000 edges a second.
func BenchmarkTick(b *testing.B) {
	for _, c := range []struct {
		name    string
		sampler simulated.Sampler
	}{{"perfect", simulated.Sampler{}}, {"sampled", simulated.Sampler{Period: us}}} {
		b.Run(c.name, func(b *testing.B) {
			bench := newBusy(b, c.sampler)
			for b.Loop() {
				bench.tick(b)
			}
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/120, "ns/edge")
		})
	}
}
