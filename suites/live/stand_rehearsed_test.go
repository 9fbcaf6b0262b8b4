package live

import (
	"context"
	"errors"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig"
	"hilrig/rig/board"
	"hilrig/rig/interlock"
	"hilrig/rig/raspberry/realtime"
	"hilrig/rig/raspberry/registers"
	"hilrig/rig/raspberry/supervisor"
	"hilrig/rig/signal"
	"hilrig/suites"
	"hilrig/suites/esc"
	"hilrig/suites/file"
	"hilrig/suites/language"
)

const smallStand = `stand: small stand
throttle: {kind: servo_pulse, idle: 1000 us, full: 2000 us, rate: 400 Hz, arm: [{level: 0 %, for: 2 s}]}
measure:
  spin_up: {encoder: {kind: quadrature, lines: 64}, inertia: {value: 5000 g cm2, tolerance: 2 %}}
held:
  - {kind: speed, at: [40 rad/s]}
plan: {levels: [0 %, 50 %, 100 %], cycles: 3, first_again: no}
stop_at: {speed: 550 rad/s, time: 10 min}
disc: {rated: 900 rad/s, acceleration: 800 rad/s2}
interlock: {motor_limit: 100 %}
motors_powered: motors_no_wheels
`

// onOneGoroutine leaves a test out where the race detector is what looks: on a clock of its own a run takes
// its turns on one goroutine.
func onOneGoroutine(t *testing.T) {
	t.Helper()
	if testing.Short() {
		t.Skip("a run on one goroutine, minutes of virtual time")
	}
}

func smallOne(t testing.TB) *file.Stand {
	s, err := file.ParseStand(language.Source{Path: "stand.yaml", Data: []byte(smallStand)}, nil)
	require.NoError(t, err)
	return s
}

// A stand on a bank in memory, its loop on a clock of its own, reads what it reads in virtual time:
// stamps are uncertain there, and the motor turns a first time before.
func TestAStandInMemoryReadsWhatItDoesInVirtualTime(t *testing.T) {
	onOneGoroutine(t)
	s := smallOne(t)
	played := func(real *suites.Real) *esc.Outcome {
		o, err := (&esc.Setup{Stand: s, Seed: 1, Real: real}).Run(t.Context(), esc.Options{})
		require.NoError(t, err)
		assert.True(t, o.AtRest)
		return o
	}
	inMemory := func() *esc.Outcome {
		real, err := InMemory(OfStand(s), nil, &registers.Turns{Clock: new(realtime.Manual)})
		require.NoError(t, err)
		return played(ForStand(s, real))
	}
	want, got := played(nil), inMemory()
	require.Len(t, got.Sets, len(want.Sets))
	read := 0
	for i, w := range want.Sets[0].Readings {
		g := got.Sets[0].Readings[i]
		require.Equal(t, w.Status, g.Status, "reading %d", i)
		if w.Status == 0 {
			read++
			assert.InEpsilon(t, w.Output, g.Output, 0.002, "reading %d", i)
		}
	}
	assert.Equal(t, 12, read, "50 %% and 100 %%, up and down, three times")
	assert.Equal(t, got.Result.Digest, inMemory().Result.Digest, "the same on every machine")
}

// scene is a stand on a bank in a file under a supervisor in the same process.
type scene struct {
	pair  *supervisor.Pair
	clock *realtime.Manual
	real  *suites.Real
	bank  *registers.MemoryFile
	stop  int // GPIO
}

// paired plays a stand so, changed, and says how that ended.
func paired(t *testing.T, s *file.Stand, change func(s *scene)) (ending supervisor.Ending, o *esc.Outcome, level uint32, fault error) {
	t.Helper()
	sc := &scene{clock: new(realtime.Manual)}
	sc.clock.SleepUntil(signal.Second)
	turns := &registers.Turns{Clock: sc.clock}
	path := filepath.Join(t.TempDir(), "bank")
	require.NoError(t, registers.MakePinBank(path))
	var parts supervisor.Parts
	var err error
	sc.real, parts, err = InFile(OfStand(s), path, turns)
	require.NoError(t, err)
	sc.bank, err = registers.OpenMemoryFile(path)
	require.NoError(t, err)
	sc.stop = parts.Pins.Stop
	all := interlock.Parts{Stop: true, Relay: true, Heartbeat: true}
	sc.pair, err = supervisor.NewPair(sc.clock, supervisor.Settings{Parts: parts, Power: s.Power, Tested: all, Trial: true, Confirmed: true})
	require.NoError(t, err)
	turns.Clock = sc.pair.Clock()
	if change != nil {
		change(sc)
	}
	ending = sc.pair.Run(func(w *supervisor.Worker) int {
		o, fault = (&esc.Setup{Stand: s, Seed: 1, Real: StandUnderSupervisor(w, s, sc.real, parts)}).Run(w.Context(), esc.Options{})
		return 0
	})
	return ending, o, sc.bank.Level(), fault
}

// deaf is a bench on which nothing is heard of a line from a time on.
type deaf struct {
	rig.Bench
	line signal.Line
	from signal.Time
}

func (d *deaf) Captured(dst []signal.Edge) ([]signal.Edge, error) {
	old := len(dst)
	dst, err := d.Bench.Captured(dst)
	kept := dst[:old]
	for _, e := range dst[old:] {
		if e.At < d.from || e.Line != d.line && e.Line != d.line+1 {
			kept = append(kept, e)
		}
	}
	return kept, err
}

// However a run of a stand ends under the supervisor, the relay is open and the throttle line rests.
func TestHoweverARunOfAStandEndsItsMotorHasNoSupply(t *testing.T) {
	onOneGoroutine(t)
	within := func(from signal.Time) func(s *scene) {
		return func(s *scene) {
			open := s.real.Open
			s.real.Open = func(layout signal.Layout, b board.Board) (rig.Bench, error) {
				bench, err := open(layout, b)
				line, _ := layout.Find(signal.ShaftA, signal.NoWheel)
				return &deaf{bench, line, from}, err
			}
		}
	}
	for _, test := range []struct {
		name    string
		fault   func(s *scene)
		tripped string // why; empty: it did not
		event   string
	}{
		{"to its end", nil, "", ""},
		{"the encoder falls silent while the motor is driven", within(20500 * signal.Millisecond), "nothing was heard any more of what bounds the run, and the motor was to turn", "no edge of the encoder for"},
		{"the encoder is dead from the beginning", within(0), "", "did not turn once in 3 s, and no more was sent"},
		{"Ctrl-C", func(s *scene) {
			s.clock.At(20*signal.Second, func() { s.pair.Ask("Ctrl-C") })
		}, "Ctrl-C", ""},
		{"the worker stands still", func(s *scene) {
			s.pair.Stall(supervisor.TheWorker, 20*signal.Second, 30*signal.Millisecond)
		}, "no message from the worker for 21 ms", ""},
		{"the supervisor stands still", func(s *scene) {
			s.pair.Stall(supervisor.TheSupervisor, 20*signal.Second, 30*signal.Millisecond)
		}, "the interlock itself stood still for", ""},
		{"the stop contact opens", func(s *scene) {
			s.clock.At(20*signal.Second, func() { s.bank.Clear(1 << s.stop) })
		}, "the stop contact opened", ""},
	} {
		t.Run(test.name, func(t *testing.T) {
			ending, o, level, err := paired(t, smallOne(t), test.fault)
			if test.tripped == "" {
				assert.False(t, ending.Tripped, ending.Why)
			} else {
				assert.Contains(t, ending.Why, test.tripped)
			}
			w, err2 := OfStand(smallOne(t)).proposed()
			require.NoError(t, err2)
			assert.Zero(t, level>>w.Wires.Relay&1, "the relay is open")
			assert.Zero(t, level>>w.Wires.Pins["throttle_command"]&1, "the throttle line rests")
			if test.name == "to its end" {
				require.NoError(t, err)
				assert.True(t, o.AtRest)
				assert.Equal(t, "MEASURED", o.Result.Outcome)
				return
			}
			if o == nil {
				require.Error(t, err)
				assert.True(t, errors.Is(err, context.Canceled) || test.tripped != "", err)
				return
			}
			assert.NotEqual(t, "MEASURED", o.Result.Outcome)
			if test.event != "" {
				var said strings.Builder
				for _, e := range o.Events {
					said.WriteString(e.Text + "\n")
				}
				assert.Contains(t, said.String(), test.event)
			}
		})
	}
}
