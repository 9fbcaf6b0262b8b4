package interlock

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"hilrig/rig/signal"
)

// untested returns an interlock under which hilrig ready tries things, its stop contact
// closed.
func untested() *Interlock {
	i := New(Settings{Wired: all, Untested: true, Proof: true})
	i.Confirm()
	i.StopClosed()
	i.Pass(0)
	return i
}

// beating is relay and heartbeat as they are with motors that have their supply.
var beating = Proof{Relay: true, Beats: true}

func TestProvingDoesWhatIsAsked(t *testing.T) {
	i := untested()
	for n, step := range []struct {
		does  Proof
		state State
	}{
		{Proof{}, Safe}, {Proof{Relay: true}, Proving}, {Proof{Relay: true, High: true}, Proving}, {beating, Proving},
		{Proof{Relay: true, Beats: true, Open: true}, Proving}, {Proof{Beats: true}, Proving}, {Proof{}, Safe}, {Proof{Open: true}, Safe},
	} {
		require.NoError(t, i.Prove(0, step.does))
		assert.Equal(t, step.state, i.State(), "step %d", n)
		assert.Equal(t, step.does.Relay, i.RelayClosed(), "step %d", n)
		assert.Equal(t, step.does.Beats, i.HeartbeatAllowed(), "step %d", n)
		assert.Equal(t, step.does.High, i.HeartbeatHigh(), "step %d", n)
		assert.True(t, i.LinesSafe(), "step %d: no line is played on", n)
	}
	assert.Equal(t, "proving", Proving.String())
}

// While relay and heartbeat are tried everything trips at once that trips where motors have
// their supply; the contact does not where it was opened to see that it cuts by itself.
func TestWhatTripsWhileProving(t *testing.T) {
	const stopped, stood = "the stop contact opened", "the interlock itself stood still for 21 ms"
	for _, test := range []struct {
		name       string
		happens    func(i *Interlock)
		want, open string // why it trips; why with the contact opened for it. Empty: it does not
	}{
		{"nothing", func(i *Interlock) { i.Pass(ms) }, "", ""},
		{"a message", func(i *Interlock) { i.Fed(5 * ms); i.Pass(5 * ms); i.Fed(20 * ms); i.Pass(25 * ms) }, "", ""},
		{"silence", func(i *Interlock) { i.Pass(12 * ms); i.Pass(21 * ms) }, "no message from the worker for 21 ms", "no message from the worker for 21 ms"},
		{"a standstill of its own", func(i *Interlock) { i.Awake(21 * ms); i.Fed(21 * ms); i.Pass(21 * ms) }, stood, stood},
		{"the stop contact", func(i *Interlock) { i.StopOpened(ms) }, stopped, ""},
		{"the stop contact once it was closed", func(i *Interlock) { i.StopClosed(); i.StopOpened(ms) }, stopped, ""},
		{"the worker's death", func(i *Interlock) { i.WorkerGone(ms) }, "the worker died", "the worker died"},
		{"a part that fails", func(i *Interlock) { i.Failed(ms, "relay: no such line") }, "relay: no such line", "relay: no such line"},
		{"lost timing", func(i *Interlock) { i.TimingLost(ms) }, "the worker lost its timing", "the worker lost its timing"},
		{"somebody who wants it to end", func(i *Interlock) { i.AskedToEnd(ms, "the terminal was closed") }, "the terminal was closed", "the terminal was closed"},
	} {
		t.Run(test.name, func(t *testing.T) {
			for _, does := range []Proof{{Relay: true}, {Relay: true, High: true}, beating, {Beats: true}, {Relay: true, Beats: true, Open: true}} {
				i := untested()
				require.NoError(t, i.Prove(0, does))
				test.happens(i)
				want := test.want
				if does.Open {
					want = test.open
				}
				why, _ := i.Trip()
				require.Equal(t, want, why, "%+v", does)
				if want == "" {
					assert.Equal(t, Proving, i.State())
					continue
				}
				assert.Equal(t, Tripped, i.State())
				assert.False(t, i.RelayClosed() || i.HeartbeatAllowed() || i.HeartbeatHigh(), "%+v", does)
				require.ErrorContains(t, i.Prove(ms, does), "has tripped, "+want, "for good")
				require.ErrorContains(t, i.GoLive(ms), "has tripped")
			}
		})
	}
}

// The heartbeat pauses on a silence as it does where motors have their supply.
func TestTheHeartbeatPausesWhileProving(t *testing.T) {
	i := untested()
	require.NoError(t, i.Prove(0, beating))
	i.Pass(12 * ms)
	assert.True(t, i.HeartbeatAllowed())
	i.Pass(12*ms + 1)
	assert.False(t, i.HeartbeatAllowed())
	assert.True(t, i.RelayClosed())
}

func TestProvingIsRefused(t *testing.T) {
	for _, test := range []struct {
		name   string
		change func(s *Settings)
		before func(i *Interlock)
		does   Proof
		want   string
	}{
		{"a run", func(s *Settings) { s.Untested = false }, nil, beating, "hilrig ready alone"},
		{"nobody there", func(s *Settings) { s.Proof = false }, nil, beating, "with somebody there"},
		{"not wired", func(s *Settings) { s.Wired.Heartbeat = false }, nil, beating, "not wired: heartbeat; declare"},
		{"the contact is open", nil, func(i *Interlock) { i.StopOpened(0) }, beating, "the stop contact is open; close it"},
		{"the contact is still open", nil, func(i *Interlock) { i.StopOpened(0); _ = i.Prove(0, Proof{Relay: true, Open: true}) }, beating, "the stop contact is open"},
		{"something is played", nil, func(i *Interlock) { _ = i.GoLive(0) }, beating, "the interlock is live"},
		{"tripped", nil, func(i *Interlock) { i.WorkerGone(0) }, Proof{}, "has tripped, the worker died; start anew"},
	} {
		t.Run(test.name, func(t *testing.T) {
			s := Settings{Wired: all, Untested: true, Proof: true}
			if test.change != nil {
				test.change(&s)
			}
			i := New(s)
			require.Error(t, i.Prove(0, beating), "not confirmed")
			i.Confirm()
			i.StopClosed()
			if test.before != nil {
				test.before(i)
			}
			require.ErrorContains(t, i.Prove(0, test.does), test.want)
			assert.False(t, i.HeartbeatAllowed())
		})
	}
}

// Before the stop contact is tried it may be open, or not wired as it should be; while
// something is played it trips where it opens.
func TestTheStopContactOfAnUntestedInterlock(t *testing.T) {
	i := untested()
	i.StopOpened(0)
	assert.Equal(t, Safe, i.State(), "somebody moves it")
	require.NoError(t, i.GoLive(0))
	i.StopOpened(0)
	assert.Equal(t, Live, i.State(), "it was open before")
	i.StopClosed()
	assert.Equal(t, Live, i.State())
	i.StopOpened(0)
	why, _ := i.Trip()
	assert.Equal(t, "the stop contact opened", why)
	assert.False(t, i.RelayClosed() || i.HeartbeatAllowed())
}

// Whatever happens in whatever order: relay and heartbeat are on only while they are tried,
// as was last asked, somebody kept time for it, and nothing leaves tripped.
func TestProvingIsSafeWhateverHappens(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		i := untested()
		var now, fed signal.Time
		var asked Proof
		closed := true
		for range rapid.IntRange(1, 60).Draw(t, "events") {
			now += signal.Time(rapid.IntRange(0, 24).Draw(t, "ms")) * ms
			i.Awake(now)
			before := i.State()
			switch rapid.IntRange(0, 11).Draw(t, "event") {
			case 0, 1, 2:
				p := Proof{rapid.Bool().Draw(t, "relay"), rapid.Bool().Draw(t, "beats"), rapid.Bool().Draw(t, "high"), rapid.Bool().Draw(t, "open")}
				if err := i.Prove(now, p); err == nil {
					require.True(t, closed || p.Open || p.nothing())
					asked, fed = p, now
				}
			case 3:
				closed = true
				i.StopClosed()
			case 4:
				opens := closed
				closed = false
				i.StopOpened(now)
				require.True(t, !opens || before == Safe || before == Tripped || before == Proving && asked.Open || i.State() == Tripped)
			case 5:
				_ = i.GoLive(now)
				fed = max(fed, now)
			case 6:
				i.Leave(now)
				asked = Proof{}
			case 7:
				i.AskedToEnd(now, "Ctrl-C")
				require.True(t, before == Live || i.State() == Tripped)
			default:
				i.Fed(now)
				fed = now
			}
			i.Pass(now)
			on := i.RelayClosed() || i.HeartbeatAllowed() || i.HeartbeatHigh()
			require.True(t, !on || i.State() == Proving, "on while %v", i.State())
			require.True(t, i.State() != Proving || now-fed <= MostSilence, "silent for %v", now-fed)
			require.True(t, !i.RelayClosed() || asked.Relay)
			require.True(t, !i.HeartbeatAllowed() || asked.Beats)
			require.True(t, before != Tripped || i.State() == Tripped)
		}
	})
}
