package interlock

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"hilrig/rig/signal"
)

const ms = signal.Millisecond

var all = Parts{Stop: true, Relay: true, Heartbeat: true}

// liveAt returns an interlock that went live at 0.
func liveAt(t *testing.T, p Power) *Interlock {
	t.Helper()
	i := New(Settings{Power: p, Wired: all, Tested: all, Rotation: true})
	i.Confirm()
	require.NoError(t, i.GoLive(0))
	return i
}

func TestWhatTripsAnInterlock(t *testing.T) {
	for _, test := range []struct {
		name    string
		happens func(i *Interlock)
		signals string // why it tripped at signals_only; empty: it did not
		powered string // at the other levels
		faint   bool   // the heartbeat pauses
	}{
		{"nothing", func(i *Interlock) { i.Pass(20 * ms) }, "", "", true},
		{"silence", func(i *Interlock) { i.Pass(20*ms + 1) }, "no message from the worker for 20 ms", "no message from the worker for 20 ms", true},
		{"silence after a message", func(i *Interlock) { i.Fed(7 * ms); i.Pass(28 * ms) }, "no message from the worker for 21 ms", "no message from the worker for 21 ms", true},
		{"messages", func(i *Interlock) { i.Fed(7 * ms); i.Pass(27 * ms) }, "", "", true},
		{"an old message after a new one", func(i *Interlock) { i.Fed(7 * ms); i.Fed(2 * ms); i.Pass(27 * ms) }, "", "", true},
		{"stop", func(i *Interlock) { i.StopOpened(ms) }, "the stop contact opened", "the stop contact opened", false},
		{"worker gone", func(i *Interlock) { i.WorkerGone(ms) }, "the worker died", "the worker died", false},
		{"a part that fails", func(i *Interlock) { i.Failed(ms, "relay: no such line") }, "relay: no such line", "relay: no such line", false},
		{"lost timing", func(i *Interlock) { i.TimingLost(ms) }, "the worker lost its timing", "the worker lost its timing", false},
		{"silent board", func(i *Interlock) { i.BoardSilent(ms) }, "", "the board fell silent, or sent no motor command that can be measured", false},
		{"motor limit", func(i *Interlock) { i.MotorLimit(ms) }, "", "a motor command exceeded the bench's limit", false},
		{"the first of two reasons", func(i *Interlock) { i.StopOpened(ms); i.TimingLost(2 * ms) }, "the stop contact opened", "the stop contact opened", false},
	} {
		t.Run(test.name, func(t *testing.T) {
			for p := range Powers {
				want := test.powered
				if p == SignalsOnly {
					want = test.signals
				}
				i := liveAt(t, p)
				require.NoError(t, i.Begin())
				test.happens(i)
				why, _ := i.Trip()
				assert.Equal(t, want, why, p)
				assert.Equal(t, want != "", i.State() == Tripped, p)
				assert.Equal(t, want == "" && p > SignalsOnly, i.RelayClosed(), p)
				assert.Equal(t, want == "" && p > SignalsOnly && !test.faint, i.HeartbeatAllowed(), p)
				assert.Equal(t, want != "", i.LinesSafe(), p)
			}
		})
	}
}

// A supervisor that stood still cannot know what happened meanwhile: the dead-man relay has
// dropped, and nothing that the worker says may close it again.
func TestAnInterlockThatStoodStillTrips(t *testing.T) {
	for _, test := range []struct {
		name  string
		works func(i *Interlock)
		want  string // why it trips above signals_only; empty: it does not
		stood signal.Time
	}{
		{"no pass before", func(i *Interlock) { i.Fed(90 * ms); i.Pass(100 * ms) }, "", 0},
		{"for as long as is borne", func(i *Interlock) { i.Pass(0); i.Fed(20 * ms); i.Pass(20 * ms) }, "", 0},
		{"for longer", func(i *Interlock) { i.Pass(0); i.Pass(20*ms + 1) }, "the interlock itself stood still for 20 ms", 20*ms + 1},
		{"fed meanwhile", func(i *Interlock) { i.Pass(0); i.Fed(3 * signal.Second); i.Pass(3 * signal.Second) }, "the interlock itself stood still for 3000 ms", 3 * signal.Second},
		{"awake, fed, then a pass", func(i *Interlock) { i.Pass(0); i.Awake(50 * ms); i.Fed(50 * ms); i.Pass(50 * ms) }, "the interlock itself stood still for 50 ms", 50 * ms},
		{"twice", func(i *Interlock) {
			i.Pass(0)
			for _, at := range []signal.Time{30 * ms, 90 * ms, 115 * ms} {
				i.Fed(at)
				i.Pass(at)
			}
		}, "the interlock itself stood still for 30 ms", 60 * ms},
		{"not yet live", func(i *Interlock) {
			i.Leave(0)
			i.Pass(0)
			i.Pass(30 * ms)
		}, "the interlock itself stood still for 30 ms", 30 * ms},
	} {
		t.Run(test.name, func(t *testing.T) {
			for p := range Powers {
				i := liveAt(t, p)
				test.works(i)
				want := test.want
				if p == SignalsOnly && test.name != "for longer" { // there the worker was silent
					want = ""
				}
				if why, _ := i.Trip(); p == SignalsOnly && test.name == "for longer" {
					assert.Equal(t, "no message from the worker for 20 ms", why)
				} else {
					assert.Equal(t, want, why, p)
				}
				assert.Equal(t, test.stood, i.Stood(), "it is counted at each level: %v", p)
				if want != "" {
					assert.True(t, i.LinesSafe())
					assert.False(t, i.RelayClosed() || i.HeartbeatAllowed())
					require.Error(t, i.GoLive(signal.Second), "for good")
				}
			}
		})
	}
}

func TestTheHeartbeatPausesBeforeItTrips(t *testing.T) {
	i := liveAt(t, WheelsOffGround)
	require.NoError(t, i.Begin())
	for _, step := range []struct {
		fed, now signal.Time
		beats    bool
	}{{0, 12 * ms, true}, {0, 12*ms + 1, false}, {0, 20 * ms, false}, {20 * ms, 20 * ms, true}, {20 * ms, 33 * ms, false}} {
		i.Fed(step.fed)
		i.Pass(step.now)
		assert.Equal(t, step.beats, i.HeartbeatAllowed(), "at %v", step.now)
		assert.True(t, i.RelayClosed(), "at %v", step.now)
	}
	i.Pass(40*ms + 1)
	assert.False(t, i.HeartbeatAllowed() || i.RelayClosed())
}

func TestIdleComesBeforeTheRelayOnlyWhereAsked(t *testing.T) {
	type step struct {
		at    signal.Time
		does  func(i *Interlock, at signal.Time)
		relay bool // afterwards
	}
	ask := func(i *Interlock, at signal.Time) { i.AskedToEnd(at, "Ctrl-C") }
	fed := func(i *Interlock, at signal.Time) {
		for now := i.passed; now < at; now += ms {
			i.Fed(now)
			i.Pass(now)
		}
		i.Fed(at)
		i.Pass(at)
	}
	pass := func(i *Interlock, at signal.Time) { i.Pass(at) }
	for _, test := range []struct {
		name  string
		steps []step
	}{
		{"200 ms at most", []step{{ms, ask, true}, {100 * ms, fed, true}, {200 * ms, fed, true}, {201 * ms, fed, false}}},
		{"asked twice", []step{{ms, ask, true}, {100 * ms, fed, true}, {100 * ms, ask, true}, {201 * ms, fed, false}}},
		{"less where the worker leaves", []step{{ms, ask, true}, {10 * ms, func(i *Interlock, at signal.Time) { i.Leave(at) }, false}}},
		{"no longer than the worker lives", []step{{ms, ask, true}, {5 * ms, fed, true}, {26 * ms, pass, false}}},
		{"no longer than the board lives", []step{{ms, ask, true}, {5 * ms, func(i *Interlock, at signal.Time) { i.BoardSilent(at) }, false}}},
		{"not where the stop opens", []step{{ms, ask, true}, {5 * ms, func(i *Interlock, at signal.Time) { i.StopOpened(at) }, false}}},
	} {
		t.Run(test.name, func(t *testing.T) {
			i := liveAt(t, WheelsOffGround)
			require.NoError(t, i.Begin())
			for n, s := range test.steps {
				s.does(i, s.at)
				assert.Equal(t, s.relay, i.RelayClosed(), "step %d", n)
				until, idling := i.Idling()
				assert.Equal(t, s.relay, idling, "step %d", n)
				if idling {
					assert.Equal(t, 201*ms, until)
				}
			}
			assert.Equal(t, Tripped, i.State())
			why, at := i.Trip()
			assert.Equal(t, "Ctrl-C", why)
			assert.Equal(t, test.steps[len(test.steps)-1].at, at)
		})
	}
}

func TestGoingLiveIsRefused(t *testing.T) {
	noRelay := Parts{Stop: true, Heartbeat: true}
	for _, test := range []struct {
		name     string
		settings Settings
		confirm  bool
		before   func(i *Interlock)
		want     string // of the error; empty: granted
	}{
		{"signals only, nothing wired", Settings{}, true, nil, ""},
		{"not confirmed", Settings{}, false, nil, "nobody has confirmed the list for signals_only"},
		{"not wired", Settings{Power: MotorsNoWheels, Wired: noRelay, Tested: all}, true, nil, "these are not wired: relay; "},
		{"not tested", Settings{Power: WheelsOffGround, Wired: all, Tested: Parts{Relay: true}}, true, nil, "not tested since this machine was started: stop input, heartbeat; hilrig ready tests them"},
		{"rotation not seen", Settings{Power: MotorsNoWheels, Wired: all, Tested: all}, true, nil, "powered as motors_no_wheels and nobody has seen each of them turn the right way, wired like this, since this machine was started; hilrig ready tries that last"},
		{"rotation to be seen", Settings{Power: MotorsNoWheels, Wired: all, Tested: all, Trial: true}, true, nil, ""},
		{"rotation to be seen, not tested", Settings{Power: MotorsNoWheels, Wired: all, Trial: true}, true, nil, "not tested since this machine was started: stop input, relay, heartbeat; "},
		{"tested and seen", Settings{Power: WheelsOffGround, Wired: all, Tested: all, Rotation: true}, true, nil, ""},
		{"no such level", Settings{Power: Powers, Wired: all, Tested: all}, true, nil, "power level 3 is not known"},
		{"tripped", Settings{Wired: all}, true, func(i *Interlock) { i.StopOpened(0) }, "the interlock has tripped, the stop contact opened; start anew"},
		{"asked to end before", Settings{}, true, func(i *Interlock) { i.AskedToEnd(0, "Ctrl-C") }, "has tripped, Ctrl-C"},
		{"live already", Settings{}, true, func(i *Interlock) { _ = i.GoLive(0) }, "is live already"},
		{"left before", Settings{}, true, func(i *Interlock) { _ = i.GoLive(0); i.Leave(0) }, ""},
	} {
		t.Run(test.name, func(t *testing.T) {
			i := New(test.settings)
			if test.confirm {
				i.Confirm()
			}
			if test.before != nil {
				test.before(i)
			}
			err := i.GoLive(0)
			if test.want == "" {
				require.NoError(t, err)
				return
			}
			require.ErrorContains(t, err, test.want)
			assert.False(t, i.RelayClosed() || i.HeartbeatAllowed())
		})
	}
}

func TestNothingIsPlayedUnlessLive(t *testing.T) {
	i := New(Settings{})
	require.ErrorIs(t, i.Begin(), ErrNotLive)
	i = liveAt(t, SignalsOnly)
	require.NoError(t, i.Begin())
	i.AskedToEnd(0, "Ctrl-C")
	require.ErrorIs(t, i.Begin(), ErrNotLive, "it idles")
}

// Whatever happens in whatever order: no supply in safe and tripped, nothing leaves
// tripped, silence trips, and idling is bounded.
func TestAnInterlockIsSafeWhateverHappens(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		parts := rapid.Custom(func(t *rapid.T) Parts {
			b := rapid.IntRange(0, 15).Draw(t, "parts") // all of them more often than not
			return Parts{b&1 > 0 || b > 7, b&2 > 0 || b > 7, b&4 > 0 || b > 7}
		})
		s := Settings{Power: Power(rapid.IntRange(0, 2).Draw(t, "power")), Wired: parts.Draw(t, "wired"), Tested: parts.Draw(t, "tested"), Rotation: rapid.Bool().Draw(t, "rotation"), Trial: rapid.Bool().Draw(t, "trial")}
		i := New(s)
		var now, fed, asked signal.Time
		var tripped, confirmed bool
		var reason string
		var trippedAt signal.Time
		var passed signal.Time
		for n := range rapid.IntRange(1, 60).Draw(t, "events") {
			now += signal.Time(rapid.IntRange(0, 30).Draw(t, "ms")) * ms
			before := i.State()
			var granted error
			switch event := rapid.IntRange(0, 15).Draw(t, "event"); event {
			case 0:
				i.Confirm()
				confirmed = true
			case 1, 2:
				if granted = i.GoLive(now); granted == nil {
					fed, asked = now, 0
					require.Equal(t, Safe, before)
					require.True(t, confirmed)
					require.True(t, s.Power == SignalsOnly || s.Wired.All() && s.Tested.All() && (s.Rotation || s.Trial))
				}
			case 3:
				_ = i.Begin()
			case 5:
				i.StopOpened(now)
				require.True(t, !s.Wired.Stop || i.State() == Tripped)
			case 6:
				i.WorkerGone(now)
				require.Equal(t, Tripped, i.State())
			case 7:
				i.BoardSilent(now)
			case 8:
				i.MotorLimit(now)
			case 9:
				i.TimingLost(now)
			case 10:
				i.AskedToEnd(now, "Ctrl-C")
				if asked == 0 && before != Tripped {
					asked = now
				}
			case 11:
				i.Leave(now)
			default:
				i.Fed(now)
				fed = now
			}
			i.Pass(now)
			require.True(t, s.Power == SignalsOnly || n == 0 || now-passed <= MostSilence || i.State() == Tripped, "it stood still for %v and is %v", now-passed, i.State())
			passed = now
			lively := i.State() == Live || i.State() == Running
			require.False(t, !lively && (i.RelayClosed() || i.HeartbeatAllowed()), "supply while %v", i.State())
			require.False(t, s.Power == SignalsOnly && (i.RelayClosed() || i.HeartbeatAllowed()), "supply at signals_only")
			require.NotEqual(t, lively, i.LinesSafe())
			require.False(t, lively && now-fed > MostSilence, "silent for %v and %v", now-fed, i.State())
			require.False(t, lively && asked > 0 && now-asked >= MostIdling, "idles for %v", now-asked)
			why, at := i.Trip()
			if tripped {
				require.Equal(t, Tripped, i.State())
				require.Equal(t, reason, why)
				require.Equal(t, trippedAt, at)
			}
			if tripped = i.State() == Tripped; tripped {
				require.NotEmpty(t, why)
				reason, trippedAt = why, at
			}
		}
	})
}
