package interlock

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig/signal"
)

const second = 1000 * ms

// supplied is an interlock whose supply is seen, played millisecond by millisecond.
type supplied struct {
	*Interlock
	now signal.Time
}

func newSupplied(power Power, s Supply) *supplied {
	s.Wired = true
	all := Parts{Stop: true, Relay: true, Heartbeat: true}
	i := New(Settings{Power: power, Wired: all, Tested: all, Rotation: true, Supply: s})
	i.Confirm()
	return &supplied{Interlock: i, now: second}
}

// pass lets time pass with the supply on or off, and the motors commanded to turn or not.
func (s *supplied) pass(long signal.Time, on, turns bool) {
	for until := s.now + long; s.now < until; s.now += ms {
		s.Awake(s.now)
		s.Fed(s.now)
		if turns {
			s.Turning(s.now)
		}
		s.SupplySeen(s.now, on)
		s.Pass(s.now)
	}
}

// lives has it go live, its supply come, and play.
func (s *supplied) lives(t *testing.T, turns bool) {
	t.Helper()
	s.pass(50*ms, false, false)
	require.NoError(t, s.GoLive(s.now))
	require.NoError(t, s.Begin())
	s.pass(20*ms, false, false)
	s.pass(second, true, turns)
	require.Equal(t, Running, s.State())
}

// When the supply has to be gone: by what is declared, or 2 s; with motors that were to turn, only
// once they ran down. Before that it is watched, and nothing is said.
func TestAWeldedContactIsSaidOnceTheMotorsRest(t *testing.T) {
	for _, tt := range []struct {
		name  string
		of    Supply
		turns bool
		says  signal.Time // after the relay's opening
	}{
		{"at rest", Supply{}, false, 2 * second},
		{"at rest, declared", Supply{Falls: 700 * ms}, false, 700 * ms},
		{"turning", Supply{}, true, 12 * second},
		{"turning, declared", Supply{Falls: 500 * ms, Coast: 4 * second}, true, 4500 * ms},
	} {
		t.Run(tt.name, func(t *testing.T) {
			s := newSupplied(WheelsOffGround, tt.of)
			s.lives(t, tt.turns)
			s.Leave(s.now)
			s.pass(tt.says-5*ms, true, false)
			assert.Equal(t, Safe, s.State())
			assert.True(t, s.Watching())
			s.pass(10*ms, true, false)
			assert.Equal(t, Tripped, s.State())
			why, _ := s.Trip()
			assert.Contains(t, why, "contact welded: ")
			welded, unjudged := s.Welded()
			assert.True(t, welded)
			assert.False(t, unjudged)
			assert.False(t, s.Watching())
			require.Error(t, s.GoLive(s.now), "for good")
		})
	}
}

// Motors that feed the supply while they run down are no weld, and how long it took is learnt.
func TestASupplyThatGoesLateIsNoWeld(t *testing.T) {
	s := newSupplied(WheelsOffGround, Supply{})
	s.lives(t, true)
	s.StopOpened(s.now)
	require.Equal(t, Tripped, s.State())
	s.pass(9*second, true, false)
	assert.True(t, s.Watching(), "it is watched after a trip too")
	s.pass(50*ms, false, false)
	assert.False(t, s.Watching())
	why, _ := s.Trip()
	assert.Equal(t, "the stop contact opened", why)
	assert.InDelta(t, float64(9*second), float64(s.Fell()), float64(3*ms))
	s.pass(30*second, false, false)
	welded, _ := s.Welded()
	assert.False(t, welded)
}

// What tripped first is said first, and the weld besides.
func TestAWeldAfterATripIsSaidBesides(t *testing.T) {
	s := newSupplied(MotorsNoWheels, Supply{})
	s.lives(t, false)
	s.StopOpened(s.now)
	s.pass(3*second, true, false)
	why, _ := s.Trip()
	assert.Regexp(t, "^the stop contact opened; contact welded: ", why)
}

func TestTheSupplyHasToComeAndToStay(t *testing.T) {
	s := newSupplied(WheelsOffGround, Supply{})
	s.pass(50*ms, false, false)
	require.NoError(t, s.GoLive(s.now))
	s.pass(2990*ms, false, false)
	assert.Equal(t, Live, s.State())
	s.pass(20*ms, false, false)
	why, _ := s.Trip()
	assert.Contains(t, why, "was not seen 3 s after the relay closed")

	s = newSupplied(WheelsOffGround, Supply{})
	s.lives(t, false)
	s.pass(95*ms, false, false)
	s.pass(10*ms, true, false)
	assert.Equal(t, Running, s.State(), "a dip")
	s.pass(110*ms, false, false)
	why, _ = s.Trip()
	assert.Equal(t, "the motors' supply went away while the relay was closed", why)
	s.pass(50*ms, false, false)
	assert.False(t, s.Watching())
}

// A supply that is there before the relay closes is not gone over.
func TestNothingGoesLiveOnASupplyThatIsOn(t *testing.T) {
	s := newSupplied(WheelsOffGround, Supply{})
	s.pass(50*ms, true, false)
	require.ErrorContains(t, s.GoLive(s.now), "the motors' supply is on while the relay is open")
	s.pass(100*ms, false, false)
	require.NoError(t, s.GoLive(s.now), "it was running down from before")

	s = newSupplied(SignalsOnly, Supply{})
	s.pass(50*ms, false, false)
	require.NoError(t, s.GoLive(s.now))
	s.pass(second, false, true)
	assert.Equal(t, Live, s.State())
	s.pass(13*second, true, false)
	why, _ := s.Trip()
	assert.Equal(t, "the motors' supply is on, and motors_powered is signals_only; pull its lead", why)
}

// A motor turned by hand feeds the supply as well; what stays on is no hand.
func TestASupplyThatComesBackIsWatchedAnew(t *testing.T) {
	s := newSupplied(WheelsOffGround, Supply{})
	s.lives(t, false)
	s.Leave(s.now)
	s.pass(100*ms, true, false)
	s.pass(5*second, false, false)
	s.pass(second, true, false)
	assert.True(t, s.Watching())
	s.pass(100*ms, false, false)
	assert.Equal(t, Safe, s.State())
	s.pass(13*second, true, false)
	assert.Equal(t, Tripped, s.State())
}

func TestNobodyWaitsForTheSupply(t *testing.T) {
	s := newSupplied(WheelsOffGround, Supply{})
	s.lives(t, true)
	s.Leave(s.now)
	s.pass(100*ms, true, false)
	s.Unwatched()
	welded, unjudged := s.Welded()
	assert.True(t, unjudged && !welded)
	assert.False(t, s.Watching())

	s = newSupplied(WheelsOffGround, Supply{})
	s.settings.Untested = true
	s.pass(20*second, true, false)
	assert.Equal(t, Safe, s.State(), "a person says so there")
}
