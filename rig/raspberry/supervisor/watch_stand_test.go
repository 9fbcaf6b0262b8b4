package supervisor

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig"
	"hilrig/rig/decode"
	"hilrig/rig/interlock"
	"hilrig/rig/raspberry/hostlines"
	"hilrig/rig/raspberry/realtime"
	"hilrig/rig/raspberry/registers"
	"hilrig/rig/signal"
	"hilrig/stimulus/wire"
)

// standLayout is throttle, A and B.
func standLayout() (layout signal.Layout) {
	for _, role := range []signal.Role{signal.ThrottleCommand, signal.ShaftA, signal.ShaftB} {
		layout.Lines = append(layout.Lines, signal.Spec(role, signal.NoWheel))
	}
	return layout
}

var standThrottle = decode.Motor{Servo: decode.Servo{Idle: 1000 * us, Full: 2000 * us}}

// standWatch is one with a first turn at 10 % and a limit of 60 %, on an encoder of 4 lines or none.
func standWatch(t testing.TB, encoder bool) *StandWatch {
	s := StandSettings{Throttle: standThrottle, First: 0.10, Limit: 0.60, Unseen: signal.Second}
	if encoder {
		var err error
		s.Shaft, err = decode.NewAngle(wire.Quadrature{Lines: 4}, 1, 2)
		require.NoError(t, err)
	}
	w, err := NewStandWatch(standLayout(), s)
	require.NoError(t, err)
	return w
}

// servo is one pulse of the throttle line at a time.
func servo(at, width signal.Time, uncertainty signal.Time) []signal.Edge {
	return []signal.Edge{{At: at, Level: true, Uncertainty: uint32(uncertainty)}, {At: at + width, Uncertainty: uint32(uncertainty)}}
}

// shaft is edges of so many counts of the encoder, a millisecond apart; ahead A leads.
func shaft(from signal.Time, counts int, ahead bool) (edges []signal.Edge) {
	leads, follows := signal.Line(1), signal.Line(2)
	if !ahead {
		leads, follows = follows, leads
	}
	for i := range counts {
		line := leads
		if i%2 == 1 {
			line = follows
		}
		edges = append(edges, signal.Edge{At: from + signal.Time(i)*ms, Line: line, Level: i%4 < 2})
	}
	return edges
}

// A command is refused before the bench has it, whatever the program wants.
func TestNoCommandGoesOutBeyondWhatIsAllowed(t *testing.T) {
	for _, test := range []struct {
		name   string
		counts int // of the encoder, 16 a turn; negative: backwards
		width  signal.Time
		says   string // empty: it goes out
	}{
		{"the first turn", 0, 1100 * us, ""},
		{"more before it turned", 0, 1110 * us, "a throttle of 11.0 % was not sent: the motor was not seen to turn ahead at 10.0 %"},
		{"half a turn is none", 8, 1200 * us, "was not sent: the motor was not seen to turn ahead"},
		{"a turn backwards is none", -17, 1200 * us, "was not sent: the motor was not seen to turn ahead"},
		{"more after a turn", 17, 1200 * us, ""},
		{"up to the limit", 17, 1600 * us, ""},
		{"beyond the limit", 17, 1610 * us, "a throttle of 61.0 % is beyond the stand's motor_limit of 60.0 %"},
		{"beyond the limit before it turned", 0, 1900 * us, "is beyond the stand's motor_limit"},
	} {
		t.Run(test.name, func(t *testing.T) {
			w := standWatch(t, true)
			require.NoError(t, w.planned(servo(10*ms, 1100*us, 0), 15*ms))
			_, limit := w.look(shaft(20*ms, max(test.counts, -test.counts), test.counts > 0), nil, 60*ms)
			assert.False(t, limit)
			err := w.planned(servo(70*ms, test.width, 0), 75*ms)
			if test.says == "" {
				require.NoError(t, err)
				return
			}
			require.ErrorContains(t, err, test.says)
		})
	}
}

// Where nothing on the shaft says that it turns, a person looks, for as long as the first turn lasts.
func TestWithoutAnEncoderTheFirstTurnTakesItsTime(t *testing.T) {
	w := standWatch(t, false)
	for at := 10 * ms; at < 1005*ms; at += 10 * ms {
		require.NoError(t, w.planned(servo(at, 1100*us, 0), at+5*ms))
		require.Error(t, standWatch(t, false).planned(servo(at, 1200*us, 0), at+5*ms))
		assert.False(t, w.Turned(), at)
	}
	require.NoError(t, w.planned(servo(1020*ms, 1100*us, 0), 1025*ms))
	assert.True(t, w.Turned())
	require.NoError(t, w.planned(servo(1030*ms, 1500*us, 0), 1035*ms))

	w = standWatch(t, false)
	for at := 10 * ms; at < 3*signal.Second; at += 10 * ms {
		width := 1100 * us
		if at%(500*ms) == 0 {
			width = 1000 * us
		}
		require.NoError(t, w.planned(servo(at, width, 0), at+5*ms))
	}
	assert.False(t, w.Turned(), "idle between begins anew")
}

// What went out is measured again: a line that carries more than was handed over trips, where
// its stamps are certain, and so does one on which nothing can be measured.
func TestWhatWentOutIsLookedAtAgain(t *testing.T) {
	for _, test := range []struct {
		name              string
		width, uncertain  signal.Time
		unmeasured, limit bool
	}{
		{"as handed over", 1100 * us, 0, false, false},
		{"more", 1200 * us, 0, false, true},
		{"more, and the stamps leave it open", 1200 * us, 150 * us, true, false},
		{"so much more that they do not", 1900 * us, 150 * us, false, true},
	} {
		t.Run(test.name, func(t *testing.T) {
			w := standWatch(t, true)
			var unmeasured, limit bool
			for at := 10 * ms; at < 300*ms; at += 5 * ms {
				u, l := w.look(nil, servo(at, test.width, test.uncertain), at+5*ms)
				unmeasured, limit = unmeasured || u, limit || l
			}
			assert.Equal(t, test.limit, limit)
			if !test.limit {
				assert.Equal(t, test.unmeasured, unmeasured)
			}
			w.reset(300 * ms)
			u, _ := w.look(nil, nil, signal.Second)
			assert.False(t, u, "a line that is silent moves nothing")
		})
	}
}

func TestAWatchOverAStandNeedsALineAndLimits(t *testing.T) {
	_, err := NewStandWatch(signal.Layout{}, StandSettings{First: 0.1, Limit: 0.25})
	require.ErrorContains(t, err, "it has no line throttle_command")
	for _, s := range []StandSettings{{}, {First: 0.3, Limit: 0.25}, {First: 0.1, Limit: 1.1}} {
		_, err := NewStandWatch(standLayout(), s)
		require.ErrorContains(t, err, "of full command; both lie above 0")
	}
}

// standBench is a bench on a bank in memory, whose throttle line is read back, under a supervisor of
// powered motors on the same clock.
func standBench(t *testing.T, power interlock.Power) (*Pair, *registers.Memory, rig.Bench) {
	clock := &realtime.Manual{}
	all := interlock.Parts{Stop: true, Relay: true, Heartbeat: true}
	pair, _ := onLog(t, clock, Settings{Power: power, Confirmed: true, Tested: all, Rotation: true})
	m := &registers.Memory{}
	bench, err := registers.New(registers.Settings{Settings: hostlines.Settings{Layout: standLayout(), Pins: hostlines.Pins{17, 5, 6}}, PinBank: m, Time: &registers.Turns{Clock: clock}})
	require.NoError(t, err)
	b, err := pair.worker.Stand(bench, standWatch(t, true))
	require.NoError(t, err)
	return pair, m, b
}

func TestAStandIsPlayedUnderTheSupervisorsEyes(t *testing.T) {
	for _, test := range []struct {
		name  string
		width signal.Time
		trip  func(w *Worker)
		why   string
	}{
		{"at the first turn's command", 1100 * us, func(*Worker) {}, ""},
		{"beyond it", 1300 * us, func(*Worker) {}, "a motor command exceeded the bench's limit"},
		{"its source lost", 1100 * us, func(w *Worker) { w.Trip(SourceLost) }, "nothing was heard any more of what bounds the run, and the motor was to turn"},
		{"a level times out", 1100 * us, func(w *Worker) { w.Trip(LevelTimeout) }, "a level took more than twice its reckoned time"},
	} {
		for _, power := range []interlock.Power{interlock.SignalsOnly, interlock.MotorsNoWheels} {
			t.Run(test.name+", "+power.String(), func(t *testing.T) {
				pair, m, b := standBench(t, power)
				rest := pulses(0, test.width, 5*ms, 200*ms)
				var went []signal.Edge
				var denied error
				for at := signal.Time(0); at < 200*ms && denied == nil; at += ms {
					n := 0
					for n < len(rest) && rest[n].At <= at+2*ms {
						n++
					}
					if denied = b.Drive(rest[:n], at+2*ms); denied == nil {
						denied = b.Wait(at + ms)
					}
					rest = rest[n:]
					_, err := b.Captured(nil)
					require.NoError(t, err)
					went, err = b.ReadBack(went)
					require.NoError(t, err)
					if at == 100*ms {
						test.trip(pair.worker)
					}
				}
				if test.width > 1100*us {
					for i := 1; i < len(went); i++ {
						assert.Less(t, went[i].At-went[i-1].At, 1000*us, "what had begun ends as less than idle")
					}
					require.ErrorContains(t, denied, "a throttle of 30.0 % was not sent")
				} else {
					assert.Greater(t, len(went), 10, "what went out is read back")
				}
				for range 50 {
					_ = b.Wait(b.Now() + ms)
				}
				want := test.why
				if power == interlock.SignalsOnly {
					want = ""
				}
				assert.Equal(t, want, pair.worker.Why())
				require.NoError(t, b.Close())
				assert.Zero(t, m.Level()&(1<<17), "the throttle line rests")
			})
		}
	}
}
