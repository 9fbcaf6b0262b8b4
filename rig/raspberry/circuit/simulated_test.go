package circuit_test

import (
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig"
	"hilrig/rig/decode"
	"hilrig/rig/interlock"
	"hilrig/rig/raspberry/circuit"
	"hilrig/rig/raspberry/hostlines"
	"hilrig/rig/raspberry/realtime"
	"hilrig/rig/raspberry/registers"
	"hilrig/rig/raspberry/supervisor"
	"hilrig/rig/signal"
)

const (
	ms    = signal.Millisecond
	began = 5 * signal.Second // a machine's clock does not begin at 0
)

// commanding is a bench whose board commands all four motors alike.
type commanding struct {
	rig.Bench
	clock  realtime.Clock
	width  signal.Time // of its pulses
	played signal.Time // up to here
	high   bool
}

func (b *commanding) Now() signal.Time { return b.clock.Now() - began }

func (b *commanding) Wait(t signal.Time) error {
	b.clock.SleepUntil(began + t)
	return nil
}

func (b *commanding) Drive([]signal.Edge, signal.Time) error { return nil }
func (b *commanding) Safe() error                            { return nil }
func (b *commanding) Close() error                           { return nil }

func (b *commanding) Captured(dst []signal.Edge) ([]signal.Edge, error) {
	for b.played <= b.Now() {
		b.high = !b.high
		for line := range signal.Line(4) {
			dst = append(dst, signal.Edge{At: b.played, Line: line, Level: b.high})
		}
		if b.played += b.width; !b.high {
			b.played += 5*ms - 2*b.width
		}
	}
	return dst, nil
}

// onCircuit has a bench with powered motors played for a second on a bank in memory, the circuit behind
// it, after which the worker dies or closes it, and returns how it ended and how long after the relay had opened.
func onCircuit(t *testing.T, width signal.Time, dies bool, fault func(c *circuit.Simulated, now func() signal.Time)) (ending supervisor.Ending, after signal.Time) {
	path := filepath.Join(t.TempDir(), "bank")
	bank, err := registers.OpenMemoryFile(path)
	require.NoError(t, err)
	pins := supervisor.Pins{Stop: 17, Relay: 22, Heartbeat: 27, Supply: 16}
	bank.Set(1 << pins.Stop)
	clock := &realtime.Manual{}
	clock.SleepUntil(began)
	behind := &circuit.Simulated{Lines: bank, Pins: circuit.Pins(pins), Clock: clock, Hold: 50 * ms, Falls: 300 * ms}
	fault(behind, clock.Now)
	pair, err := supervisor.NewPair(clock, supervisor.Settings{
		Parts: supervisor.Parts{Pins: pins, Open: func() (hostlines.Lines, error) { return behind, nil }},
		Power: interlock.WheelsOffGround, Tested: interlock.Parts{Stop: true, Relay: true, Heartbeat: true}, Rotation: true, Confirmed: true,
	})
	require.NoError(t, err)
	var layout signal.Layout
	for _, w := range signal.Wheels {
		layout.Lines = append(layout.Lines, signal.Spec(signal.Motor, w))
	}
	servo := decode.Motor{Servo: decode.Servo{Idle: 1000 * signal.Microsecond, Full: 2000 * signal.Microsecond}}
	watch, err := supervisor.NewWatch(layout, [4]decode.Motor{servo, servo, servo, servo}, 0.9)
	require.NoError(t, err)
	var opened signal.Time
	ending = pair.Run(func(w *supervisor.Worker) int {
		b := w.Bench(&commanding{clock: pair.Clock(), width: width}, watch)
		for end := clock.Now() + signal.Second; clock.Now() < end && w.Context().Err() == nil; {
			if b.Wait(b.Now()+ms) != nil {
				break
			}
			_, _ = b.Captured(nil)
		}
		if opened = clock.Now(); dies {
			pair.Kill(supervisor.TheWorker)
		}
		_ = b.Close()
		return 0
	})
	for _, pin := range []int{pins.Relay, pins.Heartbeat} {
		assert.Zero(t, bank.Level()>>pin&1, "GPIO%d", pin)
	}
	return ending, clock.Now() - opened
}

// A whole run on a bank in memory: what is welded is found at its end, motors that run down are no
// weld, and a sense that sees nothing ends the run.
func TestTheEndOfARunShowsWhetherTheContactorsOpened(t *testing.T) {
	const idle, half = 1000 * signal.Microsecond, 1500 * signal.Microsecond
	for _, tt := range []struct {
		name     string
		width    signal.Time
		fault    func(c *circuit.Simulated, now func() signal.Time)
		why      string
		from, to signal.Time // the run has ended so long after the relay opened
		fell     signal.Time
	}{
		{"as it should be", idle, func(*circuit.Simulated, func() signal.Time) {}, "", 300 * ms, 350 * ms, 300 * ms},
		{"welded", idle, func(c *circuit.Simulated, _ func() signal.Time) { c.Weld() }, "contact welded", 2000 * ms, 2050 * ms, 0},
		{"welded, motors turning", half, func(c *circuit.Simulated, _ func() signal.Time) { c.Weld() }, "contact welded", 11900 * ms, 12050 * ms, 0},
		{"motors run down", half, func(c *circuit.Simulated, now func() signal.Time) { c.Feed(now() + 7*signal.Second) }, "", 6300 * ms, 6350 * ms, 6300 * ms},
		{"welded, and the worker dies", idle, func(c *circuit.Simulated, _ func() signal.Time) { c.Weld() }, "the worker died; contact welded", 2000 * ms, 2050 * ms, 0},
		{"the sense's wire broke", idle, func(c *circuit.Simulated, _ func() signal.Time) { c.Break() }, "", 0, 50 * ms, 0},
	} {
		t.Run(tt.name, func(t *testing.T) {
			ending, after := onCircuit(t, tt.width, strings.HasSuffix(tt.name, "dies"), tt.fault)
			assert.Equal(t, tt.why != "", ending.Tripped, ending.Why)
			assert.Equal(t, tt.why != "", ending.Welded)
			assert.Contains(t, ending.Why, tt.why)
			assert.GreaterOrEqual(t, after, tt.from)
			assert.LessOrEqual(t, after, tt.to)
			assert.InDelta(t, float64(tt.fell), float64(ending.Fell), float64(10*ms))
			assert.False(t, ending.Unjudged)
		})
	}
}
