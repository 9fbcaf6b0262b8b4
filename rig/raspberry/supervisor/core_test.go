package supervisor

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig/interlock"
	"hilrig/rig/raspberry/hostlines"
	"hilrig/rig/raspberry/realtime"
	"hilrig/rig/signal"
)

// scripted is a worker that says what a test has it say.
type scripted struct {
	messages      []byte
	commands      []commandKind
	commandsEnded bool
	killed        bool
}

func (s *scripted) says(kind messageKind, at signal.Time) {
	var message [messageSize]byte
	kind.put(&message, at)
	s.messages = append(s.messages, message[:]...)
}

func (s *scripted) hear(dst []byte) (int, bool) {
	n := copy(dst, s.messages)
	s.messages = s.messages[n:]
	return n, false
}

func (s *scripted) tell(command []byte) { s.commands = append(s.commands, commandKind(command[0])) }
func (s *scripted) endCommands()        { s.commandsEnded = true }
func (s *scripted) kill()               { s.killed = true }
func (s *scripted) gone() bool          { return false }

// stopping is lines at whose next read of the stop input the process is stopped for a while.
type stopping struct {
	hostlines.Lines
	clock *realtime.Manual
	long  signal.Time
}

func (s *stopping) Read(gpio int) (bool, error) {
	s.clock.SleepUntil(s.clock.Now() + s.long)
	s.long = 0
	return s.Lines.Read(gpio)
}

// A supervisor may be stopped anywhere, between its look at the clock and its write as well: what
// it had decided before is not done afterwards.
func TestASupervisorThatIsStoppedWithinAStepDoesNotBeat(t *testing.T) {
	for _, test := range []struct {
		name string
		live bool // it is live already, and beats
		long signal.Time
		want string // why it trips
	}{
		{"while it beats", true, 30 * ms, "the interlock itself stood still for 30 ms"},
		{"as it goes live", false, 30 * ms, "the interlock itself stood still for 30 ms"},
		{"briefly", true, 5 * ms, ""},
	} {
		t.Run(test.name, func(t *testing.T) {
			clock := &realtime.Manual{}
			log := NewLineLog(clock)
			log.Set(pairPins.Stop, true)
			whole := interlock.Parts{Stop: true, Relay: true, Heartbeat: true}
			lines := &stopping{&pairedLines{log, TheSupervisor}, clock, 0}
			c := newCore(Settings{Parts: Parts{Pins: pairPins}, Power: interlock.MotorsNoWheels, Tested: whole, Rotation: true, Confirmed: true}, clock, lines)
			peer := &scripted{}
			c.peer = peer
			goOn := func() {
				clock.SleepUntil(clock.Now() + ms)
				c.step()
			}
			goOn()
			if test.live {
				peer.says(messageLive, clock.Now())
				goOn()
				goOn()
				require.True(t, log.High(pairPins.Relay))
			} else {
				peer.says(messageLive, clock.Now())
			}
			before := len(log.Changes(pairPins.Heartbeat))
			lines.long = test.long
			goOn()
			why, _ := c.lock.Trip()
			assert.Equal(t, test.want, why)
			if test.want == "" {
				assert.True(t, log.High(pairPins.Relay))
				return
			}
			assert.False(t, log.High(pairPins.Relay))
			for _, c := range log.Changes(pairPins.Heartbeat)[before:] {
				assert.False(t, c.High, "it beats at %v", c.At)
			}
			if !test.live {
				assert.Empty(t, log.Changes(pairPins.Relay), "the relay never closes")
				assert.Contains(t, peer.commands, commandDenied)
				assert.NotContains(t, peer.commands, commandGranted)
			}
			assert.True(t, peer.commandsEnded)
		})
	}
}

// What the worker said before both stood still does not go live afterwards.
func TestAnOldWishToGoLiveIsRefused(t *testing.T) {
	clock := &realtime.Manual{}
	log := NewLineLog(clock)
	log.Set(pairPins.Stop, true)
	whole := interlock.Parts{Stop: true, Relay: true, Heartbeat: true}
	c := newCore(Settings{Parts: Parts{Pins: pairPins}, Power: interlock.MotorsNoWheels, Tested: whole, Rotation: true, Confirmed: true}, clock, &pairedLines{log, TheSupervisor})
	peer := &scripted{}
	c.peer = peer
	c.step()
	peer.says(messageLive, clock.Now())
	peer.says(messageFed, clock.Now()+signal.Second)
	clock.SleepUntil(signal.Second)
	c.step()
	assert.Contains(t, peer.commands, commandDenied)
	assert.Empty(t, log.Changes(pairPins.Relay))
	assert.Equal(t, interlock.Tripped, c.lock.State())
}

// The worker hears from its supervisor often enough, and nothing more after it was told to end.
func TestASupervisorSaysThatItIsAlive(t *testing.T) {
	clock := &realtime.Manual{}
	log := NewLineLog(clock)
	c := newCore(Settings{Confirmed: true}, clock, &pairedLines{log, TheSupervisor})
	peer := &scripted{}
	c.peer = peer
	for range 100 {
		clock.SleepUntil(clock.Now() + ms)
		c.step()
	}
	assert.Len(t, peer.commands, 25)
	c.ask("Ctrl-Z")
	for range 100 {
		clock.SleepUntil(clock.Now() + ms)
		c.step()
	}
	assert.Equal(t, commandTripped, peer.commands[len(peer.commands)-1])
	assert.Len(t, peer.commands, 26)
	assert.True(t, peer.commandsEnded)
}
