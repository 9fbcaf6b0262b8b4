package interlock

import (
	"errors"
	"fmt"

	"hilrig/rig/signal"
)

// Proof is what relay and heartbeat do while the interlock itself is tried, in hilrig
// ready: no motor is connected then, and a person says whether their supply is on. The zero
// value is nothing: both lines low.
type Proof struct {
	Relay bool // the relay's line is high
	Beats bool // the heartbeat runs
	High  bool // the heartbeat's level where it does not run
	// Open says that a person has opened the stop contact to see what that does by itself: it
	// does not trip.
	Open bool
}

// nothing says whether both lines are low.
func (p Proof) nothing() bool { return !p.Relay && !p.Beats && !p.High }

// Prove has relay and heartbeat do something from now on, as somebody tries them. Whoever
// asked has to keep time as with a bench that is live: its silence trips, and so do its end,
// the stop contact, a standstill of the interlock's own and whoever wants it to end, all at
// once. Where p is nothing the interlock is safe again. The error says what is in the
// way; what was done before goes on then.
func (i *Interlock) Prove(now signal.Time, p Proof) error {
	s := &i.settings
	switch {
	case i.state == Tripped:
		return fmt.Errorf("the interlock has tripped, %s; start anew", i.why)
	case !s.Untested || !s.Proof:
		return errors.New("relay and heartbeat are tried by hilrig ready alone, with somebody there")
	case !i.confirmed:
		return errors.New("nobody has confirmed that no motor has its supply")
	case i.state != Safe && i.state != Proving:
		return fmt.Errorf("the interlock is %v", i.state)
	case !s.Wired.All():
		return fmt.Errorf("these are not wired: %s; declare them under interlock in the bench file", s.Wired.missing())
	case !p.nothing() && !p.Open && !i.closed:
		return errors.New("the stop contact is open; close it, or see to its wire")
	}
	if i.proof = p; p.nothing() {
		i.state = Safe
		return nil
	}
	i.state, i.fed, i.faint = Proving, max(i.fed, now), false
	return nil
}

// HeartbeatHigh says whether the heartbeat's line is to be high while it does not run.
func (i *Interlock) HeartbeatHigh() bool {
	return i.state == Proving && i.proof.High && !i.proof.Beats
}

// StopClosed notes that the stop contact is closed.
func (i *Interlock) StopClosed() { i.closed = true }

// movesStop says whether the stop contact may be open as somebody tries it: an interlock
// that is untested trips when the contact opens, and not because it is open.
func (i *Interlock) movesStop(wasClosed bool) bool {
	return i.settings.Untested && (!wasClosed || i.state == Safe || i.state == Proving && i.proof.Open)
}
