// Package interlock decides when a motor may have its supply: a state machine, safe, live,
// running or tripped, between the program and a powered motor. It has neither clock nor
// pins; whoever has them tells it what happened and when, and does what its outputs say.
//
// It is no safety device. Power has to be removable by hand, without it.
package interlock

import (
	"errors"
	"fmt"
	"strings"

	"hilrig/rig/signal"
)

// State is how far the program stands from a powered motor.
type State uint8

// The states of an interlock.
const (
	Safe    State = iota // nothing is played, the motors have no supply
	Live                 // the lines are driven, at rest
	Running              // something is played
	Tripped              // made safe, for good
	Proving              // relay and heartbeat are tried, no motor being connected
)

var stateWords = [...]string{"safe", "live", "running", "tripped", "proving"}

// String returns the state's word.
func (s State) String() string {
	return stateWords[min(int(s), len(stateWords)-1)]
}

// The times of an interlock.
const (
	// MostSilence is how long whoever plays may leave the interlock without a message, and how
	// long the interlock itself may stand still: both for as long as the dead-man relay bears.
	MostSilence = 20 * signal.Millisecond
	// MostBeating is how long the heartbeat goes on without a message: it has stopped before
	// the interlock trips, and a pause from then to MostSilence is shorter than what the
	// dead-man relay bears, 20 ms at least.
	MostBeating = 12 * signal.Millisecond
	// MostIdling is how long the motors may be commanded to idle before the relay opens.
	MostIdling = 200 * signal.Millisecond
)

// Parts says something of each of the three parts between the rig and a motor.
type Parts struct{ Stop, Relay, Heartbeat bool }

// All says whether it is so of each.
func (p Parts) All() bool { return p.Stop && p.Relay && p.Heartbeat }

// missing names the parts of which it is not so.
func (p Parts) missing() string {
	var names []string
	for _, one := range []struct {
		name string
		has  bool
	}{{"stop input", p.Stop}, {"relay", p.Relay}, {"heartbeat", p.Heartbeat}} {
		if !one.has {
			names = append(names, one.name)
		}
	}
	return strings.Join(names, ", ")
}

// Settings say what an [Interlock] stands before.
type Settings struct {
	Power  Power
	Wired  Parts
	Tested Parts // since the machine was started
	// Rotation says that a person has seen each motor turn the right way since the machine
	// was started; Trial, that what is played is to show just that.
	Rotation, Trial bool
	// Untested says that all that is done is to try machine, wires and board before any
	// motor is connected, the interlock among them: the stop contact may be open before it
	// was seen closed. Proof, that somebody is there, and relay and heartbeat may be tried
	// too: see [Interlock.Prove].
	Untested, Proof bool
	Supply          Supply
}

// Interlock is given what happened and when; [Interlock.Pass] is called as time goes by.
// Times never go back.
//
// At signals_only relay and heartbeat stay off, but for [Interlock.Prove], as no motor is to
// have a supply; the stop input, lost timing, silence and the end of whoever plays trip nevertheless; that the
// interlock itself stood still is only counted there. A tripped interlock stays tripped: to
// go on, start anew.
type Interlock struct {
	settings  Settings
	state     State
	confirmed bool
	fed       signal.Time // the newest message of whoever plays
	faint     bool        // no message for longer than the heartbeat goes on
	proof     Proof       // what relay and heartbeat do while proving
	closed    bool        // the stop contact, as last seen
	idling    bool        // the motors are commanded to idle, then it trips
	until     signal.Time // by then, where idling
	why       string
	at        signal.Time // when it tripped
	passing   bool        // it has been at work before
	passed    signal.Time // when it last was
	stood     signal.Time // the longest pause in its work that was too long
	supply    supplyWatch
}

// New returns one that is safe.
func New(s Settings) *Interlock { return &Interlock{settings: s} }

// State returns the state. One that only idles before it trips is still live.
func (i *Interlock) State() State { return i.state }

// RelayClosed says whether the relay of the motors' supply is to be closed.
func (i *Interlock) RelayClosed() bool {
	return i.powers() && i.settings.Wired.Relay || i.state == Proving && i.proof.Relay
}

// HeartbeatAllowed says whether the heartbeat may go on.
func (i *Interlock) HeartbeatAllowed() bool {
	return (i.powers() && i.settings.Wired.Heartbeat || i.state == Proving && i.proof.Beats) && !i.faint
}

func (i *Interlock) powers() bool {
	return (i.state == Live || i.state == Running) && i.settings.Power > SignalsOnly
}

// LinesSafe says whether driven lines belong at their safe levels.
func (i *Interlock) LinesSafe() bool { return i.AtRest() || i.state == Proving }

// AtRest says whether nothing is under way that whoever plays has to keep time for: driven
// lines belong at their safe levels, relay and heartbeat are off.
func (i *Interlock) AtRest() bool { return i.state == Safe || i.state == Tripped }

// Idling says whether the motors are to be commanded to idle, and until when at most.
func (i *Interlock) Idling() (until signal.Time, yes bool) {
	if i.LinesSafe() || !i.idling {
		return 0, false
	}
	return i.until, true
}

// Trip says why and when it tripped, or what it will trip for once it has idled;
// empty where there is nothing.
func (i *Interlock) Trip() (why string, at signal.Time) { return i.why, i.at }

// Confirm notes that a person has confirmed the list of the power level.
func (i *Interlock) Confirm() { i.confirmed = true }

// GoLive makes it live. The error says what is in the way.
func (i *Interlock) GoLive(now signal.Time) error {
	s := &i.settings
	switch {
	case i.state == Tripped:
		return fmt.Errorf("the interlock has tripped, %s; start anew", i.why)
	case i.state != Safe:
		return fmt.Errorf("the interlock is %v already", i.state)
	case !i.confirmed:
		return fmt.Errorf("nobody has confirmed the list for %v", s.Power)
	case s.Power >= Powers:
		return fmt.Errorf("%v is not known", s.Power)
	case i.supplyDenies() != "":
		return errors.New(i.supplyDenies())
	case s.Power > SignalsOnly && !s.Wired.All():
		return fmt.Errorf("motors are powered as %v and these are not wired: %s; declare them under interlock in the bench file, or write motors_powered: signals_only", s.Power, s.Wired.missing())
	case s.Power > SignalsOnly && !s.Tested.All():
		return fmt.Errorf("motors are powered as %v and these were not tested since this machine was started: %s; hilrig ready tests them", s.Power, s.Tested.missing())
	case s.Power > SignalsOnly && !s.Rotation && !s.Trial:
		return fmt.Errorf("motors are powered as %v and nobody has seen each of them turn the right way, wired like this, since this machine was started; hilrig ready tries that last", s.Power)
	}
	i.state, i.fed, i.faint = Live, now, false
	return nil
}

// ErrNotLive says that something needs a live interlock.
var ErrNotLive = errors.New("the interlock is not live")

// Begin notes that something is played from now on.
func (i *Interlock) Begin() error {
	if i.LinesSafe() || i.idling {
		return ErrNotLive
	}
	i.state = Running
	return nil
}

// Leave makes it safe, as whoever plays is done with the bench. One that idles trips
// then, its idling over.
func (i *Interlock) Leave(now signal.Time) {
	switch {
	case i.AtRest():
	case i.idling:
		i.trip(now, "")
	default:
		i.state = Safe
	}
}

// Fed notes that whoever plays kept time at t.
func (i *Interlock) Fed(t signal.Time) { i.fed = max(i.fed, t) }

// Stood returns the longest time beyond [MostSilence] for which the interlock itself
// stood still; 0 where it never did.
func (i *Interlock) Stood() signal.Time { return i.stood }

// Awake notes that whoever keeps the interlock is at work, before it takes in what happened
// meanwhile. It is called every millisecond. Where it was not for longer than [MostSilence],
// the interlock itself stood still. Above signals_only, and while proving, it trips then, whatever the worker has
// said meanwhile: the dead-man relay has dropped, and is not to close by itself.
func (i *Interlock) Awake(now signal.Time) {
	pause := now - i.passed
	if i.passing && pause > MostSilence {
		i.stood = max(i.stood, pause)
		if i.settings.Power > SignalsOnly || i.state == Proving {
			i.trip(now, fmt.Sprintf("the interlock itself stood still for %d ms", int64(pause/signal.Millisecond)))
		}
	}
	i.passing, i.passed = true, now
}

// Pass lets time pass: the heartbeat pauses after some silence, it trips after too long
// a one, after a standstill of its own as [Interlock.Awake] does, and where it has idled long
// enough. It is called before any output is written.
func (i *Interlock) Pass(now signal.Time) {
	i.Awake(now)
	i.faint = now-i.fed > MostBeating
	switch {
	case i.AtRest():
	case now-i.fed > MostSilence:
		i.trip(now, fmt.Sprintf("no message from the worker for %d ms", int64((now-i.fed)/signal.Millisecond)))
	case i.idling && now >= i.until:
		i.trip(now, "")
	}
}

// StopOpened notes that the stop contact is open, or its wire broke.
func (i *Interlock) StopOpened(now signal.Time) {
	was := i.closed
	i.closed = false
	if i.settings.Wired.Stop && !i.movesStop(was) {
		i.trip(now, "the stop contact opened")
	}
}

// WorkerGone notes that whoever plays has died.
func (i *Interlock) WorkerGone(now signal.Time) { i.trip(now, "the worker died") }

// Failed notes that a part of the interlock itself does not do what it should.
func (i *Interlock) Failed(now signal.Time, how string) { i.trip(now, how) }

// TimingLost notes that whoever plays fell behind beyond what can be made good.
func (i *Interlock) TimingLost(now signal.Time) {
	if !i.AtRest() {
		i.trip(now, "the worker lost its timing")
	}
}

// BoardSilent notes that the board sends no commands, or none that can be measured. At
// signals_only that is something to be judged, and trips nothing.
func (i *Interlock) BoardSilent(now signal.Time) {
	if i.powers() {
		i.trip(now, "the board fell silent, or sent no motor command that can be measured")
	}
}

// MotorLimit notes that a command exceeded the bench's limit. At signals_only that
// trips nothing.
func (i *Interlock) MotorLimit(now signal.Time) {
	if i.powers() {
		i.trip(now, "a motor command exceeded the bench's limit")
	}
}

// SourceLost notes that nothing came any more of what a speed controller's run is bounded by,
// while its motor was to turn. At signals_only that trips nothing.
func (i *Interlock) SourceLost(now signal.Time) {
	if i.powers() {
		i.trip(now, "nothing was heard any more of what bounds the run, and the motor was to turn")
	}
}

// TimedOut notes that a step of a run that was to end by what is measured took more than twice
// its time. At signals_only that trips nothing.
func (i *Interlock) TimedOut(now signal.Time) {
	if i.powers() {
		i.trip(now, "a level took more than twice its reckoned time")
	}
}

// AskedToEnd notes that somebody wants it to end: how says by what. Where it is live
// the motors are commanded to idle first.
func (i *Interlock) AskedToEnd(now signal.Time, how string) {
	switch {
	case i.state == Safe || i.state == Proving:
		i.trip(now, how)
	case i.state != Tripped && !i.idling:
		i.idling, i.until, i.state = true, now+MostIdling, Live
		i.why = how
	}
}

// trip makes it safe for good. The reason that came first stays.
func (i *Interlock) trip(now signal.Time, why string) {
	if i.state == Tripped {
		return
	}
	if i.why == "" {
		i.why = why
	}
	i.state, i.at = Tripped, now
}
