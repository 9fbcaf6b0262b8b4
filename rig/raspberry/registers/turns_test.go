//go:build linux

package registers

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"runtime"
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig"
	"hilrig/rig/board"
	"hilrig/rig/decode"
	"hilrig/rig/raspberry/hostlines"
	"hilrig/rig/raspberry/realtime"
	"hilrig/rig/signal"
	"hilrig/rig/trace"
	"hilrig/stimulus"
)

// boardsTurns plays a second to a null board behind a bank in memory.
func boardsTurns(t testing.TB, kind board.Kind, turns *Turns, change func(*Bench)) (*rig.Rig, *trace.Trace) {
	w := wiring(signal.PortSpec{Name: "yaw_serial", Baud: 115200})
	layout := w.Layout()
	b, err := board.NewNull(kind, board.Pulses{}, layout, 1)
	require.NoError(t, err)
	m, err := NewSimulatedPinBank(b, layout, pinsOf(layout))
	require.NoError(t, err)
	bench, err := New(Settings{Settings: hostlines.Settings{Layout: layout, Pins: pinsOf(layout), Formats: []decode.MotorKind{decode.ServoPulse}}, PinBank: m, Time: turns})
	require.NoError(t, err)
	t.Cleanup(func() { assert.NoError(t, bench.Close()) })
	if change != nil {
		change(bench)
	}
	r, err := rig.New(bench, rig.Settings{Wiring: w, Car: car(), Seed: 1})
	require.NoError(t, err)
	var tr trace.Trace
	v := stimulus.Values{Speed: 5, Steer: 0.1, YawRate: 1, Throttle: 0.4, Gain: 0.5}
	require.NoError(t, r.Play(context.Background(), stimulus.Held(v, signal.Second), &tr))
	return r, &tr
}

func hashOf(tr *trace.Trace) string {
	h := sha256.New()
	tr.Hash(h)
	return hex.EncodeToString(h.Sum(nil))
}

// interrupts are stalls of 30 us, a thousand a second and more, as a shared machine has them.
func interrupts() (stalls []Stall) {
	for at := 100 * us; at < signal.Second; at += 700*us + at%(311*us) {
		stalls = append(stalls, Stall{at, 30 * us})
	}
	return stalls
}

// A thousand interrupts a second hit every pulse of a millisecond, and hide nothing in it:
// only where they hit its edges is it uncertain.
func TestInterruptsInvalidateFewPulses(t *testing.T) {
	turns := turnsOfATest()
	turns.Stalls = interrupts()
	_, tr := boardsTurns(t, board.ConstantIdle, turns, nil)
	for i := range tr.Motor {
		o := &tr.Motor[i]
		assert.Greater(t, len(o.Frames), 280, "of some 330 pulses")
		for _, e := range o.Events {
			assert.Equal(t, trace.Uncertain, e.Kind)
		}
		for _, f := range o.Frames {
			assert.LessOrEqual(t, max(f.Value, -f.Value), f.Uncertainty+1e-3, "it is at idle, within what is said")
		}
	}
}

// What a long stall hides is reported, and nothing else is.
func TestAStallWithinAPulseMakesItUncertain(t *testing.T) {
	_, undisturbed := boardsTurns(t, board.ConstantIdle, turnsOfATest(), nil)
	pulse := undisturbed.Motor[0].Frames[100]
	turns := turnsOfATest()
	turns.Stalls = []Stall{{pulse.Start + 300*us, 400 * us}}
	_, tr := boardsTurns(t, board.ConstantIdle, turns, nil)
	assert.Empty(t, undisturbed.Motor[0].Events)
	require.Len(t, tr.Motor[0].Events, 1)
	assert.Equal(t, trace.Uncertain, tr.Motor[0].Events[0].Kind)
	assert.InDelta(t, float64(pulse.End), float64(tr.Motor[0].Events[0].At), float64(us))
	assert.Len(t, tr.Motor[0].Frames, len(undisturbed.Motor[0].Frames)-1)
}

// An edge output that stands still plays late, and one that plans late does: what came of it on
// the wires is reported.
func TestALateEdgeOutputIsReported(t *testing.T) {
	r, tr := boardsTurns(t, board.EqualTorque, turnsOfATest(), nil)
	assert.Zero(t, r.Timing().LateCount)
	assert.Empty(t, tr.Delays)
	for name, fault := range map[string]func(*Turns){
		"stall": func(s *Turns) { s.Stalls = []Stall{{500 * ms, 3 * ms}} },
		"delay": func(s *Turns) { s.Delays = []Stall{{500 * ms, 4 * ms}} },
	} {
		t.Run(name, func(t *testing.T) {
			turns := turnsOfATest()
			fault(turns)
			r, tr := boardsTurns(t, board.EqualTorque, turns, nil)
			timing := r.Timing()
			assert.NotZero(t, timing.LateCount)
			assert.Greater(t, timing.Late, ms)
			require.NotEmpty(t, tr.Delays)
			for _, d := range tr.Delays {
				assert.GreaterOrEqual(t, d.From, 499*ms)
				assert.LessOrEqual(t, d.To, 510*ms)
			}
		})
	}
}

// Turns in which nothing happens are left out, and what comes of it is the same as if each
// were taken.
func TestTurnsLeftOutChangeNothing(t *testing.T) {
	stalled := func() *Turns {
		turns := turnsOfATest()
		turns.Stalls, turns.Delays = interrupts(), []Stall{{300 * ms, 3 * ms}}
		return turns
	}
	var gaps [2]Timing
	timing := func(i int) func(*Bench) {
		return func(b *Bench) {
			b.on.turns.each = i == 1
			t.Cleanup(func() { gaps[i] = b.Timing() })
		}
	}
	var hashes [2]string
	for i := range hashes {
		t.Run("", func(t *testing.T) {
			_, tr := boardsTurns(t, board.EqualTorque, stalled(), timing(i))
			hashes[i] = hashOf(tr)
		})
	}
	assert.Equal(t, hashes[1], hashes[0])
	assert.Equal(t, gaps[1], gaps[0])
}

// Whatever else the machine does, the result is the same.
func TestLoadChangesNothing(t *testing.T) {
	play := func() string {
		turns := turnsOfATest()
		turns.Stalls, turns.Delays = interrupts(), []Stall{{300 * ms, 3 * ms}}
		_, tr := boardsTurns(t, board.EqualTorque, turns, nil)
		return hashOf(tr)
	}
	want := play()
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(1))
	var busy sync.WaitGroup
	stop := make(chan struct{})
	for range 8 {
		busy.Go(func() {
			for {
				select {
				case <-stop:
					return
				default:
					runtime.Gosched()
				}
			}
		})
	}
	assert.Equal(t, want, play())
	close(stop)
	busy.Wait()
}

// Time passes only in Wait, and with whatever else sleeps on the clock.
func TestABenchFollowsItsClock(t *testing.T) {
	clock := new(realtime.Manual)
	clock.SleepUntil(7 * signal.Second)
	s := openLoop(t, &Turns{Clock: clock})
	defer s.Bench.Close()
	assert.Zero(t, s.Bench.Now(), "its time begins as it is opened")
	require.NoError(t, s.Bench.Drive([]signal.Edge{{At: ms, Level: true}}, 2*ms))
	clock.SleepUntil(7*signal.Second + 5*ms)
	edges, err := s.Bench.Captured(nil)
	require.NoError(t, err)
	require.Len(t, edges, 1)
	assert.Equal(t, signal.Edge{At: ms + 200, Uncertainty: 400, Line: 2, Level: true}, edges[0], "the sample behind the one that played it, two turns after the last that was surely before")
	require.NoError(t, s.Bench.Wait(9*ms))
	assert.Equal(t, 9*ms, s.Bench.Now())
	assert.Equal(t, 7*signal.Second+9*ms, clock.Now())
}
