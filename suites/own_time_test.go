package suites_test

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"runtime"
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/plant/portable"
	"hilrig/rig"
	"hilrig/rig/board"
	"hilrig/rig/decode"
	"hilrig/rig/raspberry/hostlines"
	"hilrig/rig/raspberry/realtime"
	"hilrig/rig/raspberry/registers"
	"hilrig/rig/signal"
	"hilrig/suites"
	"hilrig/suites/demo"
	"hilrig/suites/language"
	"hilrig/suites/record"
)

// memoryBank is the built-in board behind a bank in memory, on a clock from outside; nil: in
// real time.
func memoryBank(turns *registers.Turns) *suites.Real {
	return &suites.Real{
		Kind: "memory bank", Board: true, Restarts: true, Waits: turns != nil,
		Open: func(layout signal.Layout, b board.Board) (rig.Bench, error) {
			pins := make(hostlines.Pins, len(layout.Lines))
			for i := range pins {
				pins[i] = uint8(i)
			}
			m, err := registers.NewSimulatedPinBank(b, layout, pins)
			if err != nil {
				return nil, err
			}
			return registers.New(registers.Settings{Settings: hostlines.Settings{Layout: layout, Pins: pins, Formats: []decode.MotorKind{decode.ServoPulse}}, PinBank: m, Time: turns})
		},
	}
}

// realTimeFiles is the demo's car and bench with the suite that is short. The car
// allows its board so long a response that the checks bear wires which are late by what a
// machine without a processor to spare makes them, a millisecond.
func realTimeFiles(t testing.TB, board string) suites.Files {
	f := bramble(board)
	f.Car.Data = bytes.Replace(f.Car.Data, []byte("response: {at_most: 12 ms"), []byte("response: {at_most: 120 ms"), 1)
	require.NotEqual(t, demo.CarYAML, f.Car.Data)
	path := filepath.Join("testdata", "real_time.yaml")
	data, err := os.ReadFile(path)
	require.NoError(t, err)
	f.Suites = []language.Source{{Path: path, Data: data}}
	return f
}

// heldUp is how the checks of a run in real time stand beside those in virtual time:
// with the same verdict, left open by the rig's own timing, with another verdict.
type heldUp struct {
	same, open int
	other      []string
}

func heldAgainst(t *testing.T, want, got *record.Result) (h heldUp) {
	for i := range want.Suites {
		late := got.Suites[i].Timing
		require.NotNil(t, late, "a sampler is never perfect")
		for j := range want.Suites[i].Cases {
			w, g := &want.Suites[i].Cases[j], &got.Suites[i].Cases[j]
			require.Len(t, g.Checks, len(w.Checks), g.Name)
			for k := range w.Checks {
				switch c := &g.Checks[k]; {
				case c.Verdict == w.Checks[k].Verdict:
					h.same++
				case c.Verdict == record.Undecided && late.Late+late.Uncertain > 0:
					h.open++
				default:
					h.other = append(h.other, fmt.Sprintf("%s (%s), %s: %s on the bank, %s in virtual time: %s", g.Name, g.Variant, c.Name, c.Verdict, w.Checks[k].Verdict, c.Why))
				}
			}
		}
	}
	return h
}

// onTurns plays files over a bank whose loop takes its turns on a clock of the test's.
func onTurns(t testing.TB, f suites.Files, only string, turns *registers.Turns) *record.Result {
	turns.Clock = new(realtime.Manual)
	s := load(t, f)
	require.NoError(t, s.On(memoryBank(turns)))
	got, _ := play(t, s, suites.Options{Only: only})
	return got
}

// The loop that plays and samples, and not a simulation of it, gives the verdicts of virtual
// time.
func TestABankInMemoryGivesTheVerdictsOfVirtualTime(t *testing.T) {
	for _, c := range []struct {
		name, only string
		files      suites.Files
	}{
		{"built-in", "", realTimeFiles(t, "built-in")},
		{"yaw_sign", "branch", realTimeFiles(t, "built-in:yaw_sign")},
		{"standard", "", bramble("built-in", "split")},
	} {
		t.Run(c.name, func(t *testing.T) {
			want, _ := play(t, load(t, c.files), suites.Options{Only: c.only})
			got := onTurns(t, c.files, c.only, &registers.Turns{})
			h := heldAgainst(t, want, got)
			assert.Empty(t, h.other)
			assert.Zero(t, h.open, "nothing was late, and nothing hidden")
			assert.NotZero(t, h.same)
			for i := range got.Suites {
				assert.Zero(t, got.Suites[i].Timing.Late)
				assert.Zero(t, got.Suites[i].Timing.Uncertain)
			}
		})
	}
}

// stallsFor draws stalls of the loop, or of the one that waits, for so long.
func stallsFor(length signal.Time, seed uint64, name string, mean, most signal.Time) (stalls []registers.Stall) {
	draw := portable.NewNoise(seed, name)
	for at := signal.Time(0); ; {
		at += signal.Time(draw.Uint64() % uint64(2*mean))
		if at > length {
			return stalls
		}
		stalls = append(stalls, registers.Stall{At: at, For: signal.Time(draw.Uint64() % uint64(most))})
	}
}

// What stalls disturb is left open, and is never held against the board: no good board fails
// for them, and no bad one passes.
func TestWhatStallsDisturbIsLeftOpen(t *testing.T) {
	const ms = signal.Millisecond
	for _, c := range []struct {
		name   string
		mean   signal.Time // from stall to stall
		most   signal.Time
		opened bool // so much that not all can be decided
	}{
		{"interrupts", ms, 30 * signal.Microsecond, false},
		{"a busy machine", 20 * ms, ms, false},
		{"a machine that does much else", 50 * ms, 40 * ms, true},
	} {
		for _, at := range []string{"built-in", "built-in:yaw_sign"} {
			t.Run(c.name+", "+at, func(t *testing.T) {
				f := realTimeFiles(t, at)
				want, driving := play(t, load(t, f), suites.Options{})
				for seed := range uint64(stalled) {
					turns := &registers.Turns{
						Stalls: stallsFor(20*driving, seed, "loop", c.mean, c.most),
						Delays: stallsFor(20*driving, seed, "tick", c.mean, c.most),
					}
					got := onTurns(t, f, "", turns)
					h := heldAgainst(t, want, got)
					assert.Empty(t, h.other)
					if c.opened {
						assert.NotZero(t, h.open)
					}
					t.Logf("%d as in virtual time, %d left open", h.same, h.open)
				}
			})
		}
	}
}

// A hold that the rig invalidated is played again, as often as a case of a suite.
func TestAHoldThatWasInvalidatedIsPlayedAgain(t *testing.T) {
	const ms = signal.Millisecond
	hold := suites.Hold{Speed: 4, Steer: 0.14, Throttle: 0.4, Gain: 0.5, YawRate: 0.7, OfDemand: true}
	for _, c := range []struct {
		name  string
		until signal.Time // stalls, of the machine's time
		want  string
	}{
		{"never", 0, record.Go},
		{"at first", 4600 * ms, record.Go},
		{"all the time", 60 * signal.Second, record.NotShown},
	} {
		t.Run(c.name, func(t *testing.T) {
			turns := &registers.Turns{Clock: new(realtime.Manual)}
			for at := 3 * signal.Second; at < c.until; at += 21 * ms {
				turns.Stalls = append(turns.Stalls, registers.Stall{At: at, For: ms})
			}
			s := load(t, bramble("built-in", "split"))
			require.NoError(t, s.On(memoryBank(turns)))
			p, err := s.Play(t.Context(), hold)
			require.NoError(t, err)
			assert.Equal(t, c.want, p.Outcome(), p.Late)
		})
	}
}

// Whatever else the machine does, the record is the same.
func TestLoadLeavesTheDigestOfABankInMemory(t *testing.T) {
	run := func() string {
		return onTurns(t, realTimeFiles(t, "built-in"), "", &registers.Turns{
			Stalls: stallsFor(signal.Second*100, 1, "loop", 20*signal.Millisecond, signal.Millisecond),
		}).Digest
	}
	want := run()
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(1))
	stop := make(chan struct{})
	var busy sync.WaitGroup
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
	assert.Equal(t, want, run())
	close(stop)
	busy.Wait()
}
