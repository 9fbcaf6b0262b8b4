package raspberry

import (
	"errors"
	"fmt"

	"hilrig/rig/raspberry/header"
	"hilrig/rig/raspberry/realtime"
	"hilrig/rig/signal"
)

// Person is whoever stands at the bench, and does or sees what the program cannot.
type Person interface {
	// MoveStop asks for the stop contact to be opened or closed. It returns when that
	// was asked, not when it was done.
	MoveStop(open bool) error
	// Powered asks whether the motors' supply is on, as a lamp behind the relay shows. It
	// returns with the answer.
	Powered() (bool, error)
}

// firm is how long a contact has to stay as it is to be believed.
const firm = 20 * signal.Millisecond

// TryStop asks for the stop contact to be closed, opened and closed, and looks at its
// input: high while it is closed. It waits up to patience for each.
func TryStop(lines Lines, w *header.Wires, who Person, patience signal.Time) Finding {
	const check = "stop input"
	pin := header.GPIO(w.Stop)
	if err := lines.Input(w.Stop, PullDown); err != nil {
		return Finding{check, Wrong, fmt.Sprintf("%s: %v", pin, err), "end the program that has it; gpioinfo names it"}
	}
	for i, closed := range []bool{true, false, true} {
		if err := who.MoveStop(!closed); err != nil {
			return Finding{check, NotTried, err.Error(), ""}
		}
		switch ok := stays(lines, w.Stop, closed, patience); {
		case ok:
		case !closed:
			return Finding{check, Wrong, pin + " stays high when the contact is opened", "see that the wire goes through the contact and nothing bridges it, and that 4.7 kohm lead from the pin to ground"}
		case i == 0:
			return Finding{check, Wrong, pin + " is low with the contact closed", "see that 3.3 V come through the normally closed contact: button pulled out, plug, wire"}
		default:
			return Finding{check, Wrong, pin + " stays low when the contact is closed again", "turn or pull the button out; look for a loose wire"}
		}
	}
	return Finding{Check: check, Says: pin + " was closed, opened and closed again"}
}

// stays waits for a line to come to a level and to stay there.
func stays(lines Lines, gpio int, want bool, patience signal.Time) bool {
	clock := clockOf(lines)
	began := clock.Now()
	since := began
	for {
		at, err := lines.Read(gpio)
		now := clock.Now()
		if err != nil || at != want {
			since = now
		}
		if now-since >= firm {
			return true
		}
		if now-began > patience {
			return false
		}
		clock.SleepUntil(now + signal.Millisecond)
	}
}

// timedLines are lines with a clock of their own, as those of a [Rehearsal].
type timedLines interface{ clockOfLines() realtime.Clock }

// clockOf returns the clock by which lines are tried.
func clockOf(lines Lines) realtime.Clock {
	if t, ok := lines.(timedLines); ok {
		return t.clockOfLines()
	}
	return realtime.System{}
}

// The heartbeat while the relay is tried: an edge every 2 ms, well within the 20 ms that
// the shortest monostable holds.
const beat = 2 * signal.Millisecond

// lampSettles is longer than the longest monostable holds, and a lamp takes to go out.
const lampSettles = 300 * signal.Millisecond

// TryRelay has relay and heartbeat in every combination that matters, and asks in each
// whether the motors' supply is on: it may be only while the relay's line is high, the
// heartbeat runs and the stop contact is closed. The motors must not be connected. It ends
// at the first that is wrong, always with both lines low.
//
// How soon the supply drops nobody sees: that follows from the monostable's parts.
func TryRelay(lines Lines, w *header.Wires, who Person) []Finding {
	t := relayTest{lines: lines, wires: w, who: who, settles: lampSettles}
	return t.try()
}

func (t *relayTest) try() []Finding {
	defer t.low()
	var found []Finding
	for _, s := range []struct {
		check       string
		relay, beat bool
		heartbeat   bool // its level while it does not beat
		open        bool // the stop contact
		on          bool // what is right
		cure        string
	}{
		{check: "supply at rest", cure: "the supply bypasses the relay, or the relay is of the kind that closes at rest"},
		{check: "relay without heartbeat", relay: true, cure: "see that relay and dead-man relay stand in series, both in the motors' supply"},
		{check: "heartbeat stuck high", relay: true, heartbeat: true, cure: "the dead-man circuit takes a level for edges: trigger the monostable by one kind of edge"},
		{check: "relay with heartbeat", relay: true, beat: true, on: true, cure: "see to the supply, the relay's driver, the heartbeat's wire, and that the monostable holds for 20 to 100 ms"},
		{check: "heartbeat stops", relay: true, cure: "the monostable holds too long, or the dead-man relay sticks"},
		{check: "stop contact opened", relay: true, beat: true, open: true, cure: "put the normally closed stop contact into the motors' supply, or into the relay's coil"},
		{check: "relay line low", beat: true, cure: "the relay's driver does not let go, or the relay sticks"},
	} {
		f := t.see(s.check, s.relay, s.beat, s.heartbeat, s.open, s.on, s.cure)
		found = append(found, f)
		if f.Grade != Well {
			break
		}
	}
	return found
}

// relayTest is a try of relay and heartbeat.
type relayTest struct {
	lines   Lines
	wires   *header.Wires
	who     Person
	settles signal.Time
	beating bool // level of the heartbeat's line
	opened  bool // the stop contact, as asked
}

// low makes both lines low, the relay's first.
func (t *relayTest) low() {
	_ = t.lines.Write(t.wires.Relay, false) // where it fails there is no more to be done
	_ = t.lines.Write(t.wires.Heartbeat, false)
}

// see sets the lines and asks what comes of it.
func (t *relayTest) see(check string, relay, beats, heartbeat, open, on bool, cure string) Finding {
	if open != t.opened {
		if err := t.who.MoveStop(open); err != nil {
			return Finding{check, NotTried, err.Error(), ""}
		}
		t.opened = open
		if !stays(t.lines, t.wires.Stop, !open, 60*signal.Second) {
			return Finding{check, Wrong, "the stop contact was not moved", "try again"}
		}
	}
	err := t.lines.Output(t.wires.Heartbeat, heartbeat)
	if err == nil {
		t.beating = heartbeat
		err = t.lines.Output(t.wires.Relay, relay)
	}
	if err != nil {
		return Finding{check, Wrong, err.Error(), "end the program that has the line; gpioinfo names it"}
	}
	saw, err := t.ask(beats)
	state := map[bool]string{false: "the supply is off", true: "the supply is on"}
	switch {
	case err != nil:
		return Finding{check, NotTried, err.Error(), ""}
	case saw != on:
		return Finding{check, Wrong, state[saw] + ", and should be " + map[bool]string{false: "off", true: "on"}[on], cure}
	}
	return Finding{Check: check, Says: state[saw] + ", as it should be"}
}

// ask asks whether the supply is on, beating meanwhile.
func (t *relayTest) ask(beats bool) (on bool, err error) {
	clock := clockOf(t.lines)
	for settled := clock.Now() + t.settles; clock.Now() < settled; {
		if err := t.pass(clock, beats); err != nil {
			return false, err
		}
	}
	if _, brought := clock.(*realtime.Manual); brought {
		return t.who.Powered() // whose time passes in pass alone
	}
	type answer struct {
		on  bool
		err error
	}
	came := make(chan answer, 1)
	go func() {
		on, err := t.who.Powered()
		came <- answer{on, err}
	}()
	for {
		select {
		case a := <-came:
			return a.on, errors.Join(a.err, err)
		default:
		}
		if failed := t.pass(clock, beats && err == nil); failed != nil {
			err = failed
		}
	}
}

// pass lets the time of a beat pass, and beats.
func (t *relayTest) pass(clock realtime.Clock, beats bool) error {
	clock.SleepUntil(clock.Now() + beat)
	if !beats {
		return nil
	}
	t.beating = !t.beating
	return t.lines.Write(t.wires.Heartbeat, t.beating)
}
