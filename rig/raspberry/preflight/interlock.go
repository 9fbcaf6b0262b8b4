package preflight

import (
	"fmt"

	"hilrig/rig/interlock"
	"hilrig/rig/raspberry/hostlines"
	"hilrig/rig/raspberry/pinout"
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
func TryStop(lines hostlines.Lines, w *pinout.Wires, who Person, patience signal.Time) Result {
	const check = "stop input"
	pin := pinout.GPIO(w.Stop)
	if err := lines.Input(w.Stop, hostlines.PullDown); err != nil {
		return Result{check, Wrong, fmt.Sprintf("%s: %v", pin, err), "end the program that has it; gpioinfo names it"}
	}
	for i, closed := range []bool{true, false, true} {
		if err := who.MoveStop(!closed); err != nil {
			return Result{check, NotTried, err.Error(), ""}
		}
		switch ok, err := stays(lines, w.Stop, closed, patience); {
		case err != nil:
			return Result{check, Wrong, fmt.Sprintf("%s: %v", pin, err), "see that no other program has it"}
		case ok:
		case !closed:
			return Result{check, Wrong, pin + " stays high when the contact is opened", "see that the wire goes through the contact and nothing bridges it, and that 4.7 kohm lead from the pin to ground"}
		case i == 0:
			return Result{check, Wrong, pin + " is low with the contact closed", "see that 3.3 V come through the normally closed contact: button pulled out, plug, wire"}
		default:
			return Result{check, Wrong, pin + " stays low when the contact is closed again", "turn or pull the button out; look for a loose wire"}
		}
	}
	return Result{Check: check, Says: pin + " was closed, opened and closed again"}
}

// stays waits for a line to come to a level and to stay there. The error says why it
// cannot be told.
func stays(lines hostlines.Lines, gpio int, want bool, patience signal.Time) (bool, error) {
	clock := clockOf(lines)
	began := clock.Now()
	since := began
	for {
		at, err := lines.Read(gpio)
		if err != nil {
			return false, err
		}
		now := clock.Now()
		if at != want {
			since = now
		}
		if now-since >= firm {
			return true, nil
		}
		if now-began > patience {
			return false, nil
		}
		clock.SleepUntil(now + signal.Millisecond)
	}
}

// timedLines are lines with a clock of their own, as those of a [Rehearsal].
type timedLines interface{ Clock() realtime.Clock }

// clockOf returns the clock by which lines are tried.
func clockOf(lines hostlines.Lines) realtime.Clock {
	if t, ok := lines.(timedLines); ok {
		return t.Clock()
	}
	return realtime.System{}
}

// Circuit is lines of which relay and heartbeat are in the hands of whoever stands before
// the motors.
type Circuit interface {
	hostlines.Lines
	// Prove has relay and heartbeat do what is said, and returns once they do. Unless that is
	// nothing, Alive has to be called every few milliseconds from then on.
	Prove(p interlock.Proof) error
	// Alive says that whoever tries them keeps time. The error says why it has to end.
	Alive() error
}

// livesEvery is how often whoever tries relay and heartbeat says so.
const livesEvery = signal.Millisecond

// lampSettles is longer than the longest monostable holds, and a lamp takes to go out.
const lampSettles = 300 * signal.Millisecond

// TryRelay has relay and heartbeat in every combination that matters, and asks in each
// whether the motors' supply is on: it may be only while the relay's line is high, the
// heartbeat runs and the stop contact is closed. The motors must not be connected. It ends
// at the first that is wrong, always with both lines low. They are low too while a person is
// asked to move the stop contact.
//
// How soon the supply drops nobody sees: that follows from the monostable's parts.
func TryRelay(lines Circuit, w *pinout.Wires, who Person) []Result {
	t := relayTest{lines: lines, wires: w, who: who, settles: lampSettles}
	return t.try()
}

func (t *relayTest) try() []Result {
	defer func() { _ = t.lines.Prove(interlock.Proof{}) }() // where it fails it has tripped
	var found []Result
	for _, s := range []struct {
		check  string
		does   interlock.Proof
		on     bool // what is right
		remedy string
	}{
		{"supply at rest", interlock.Proof{}, false, "the supply bypasses the relay, or the relay is of the kind that closes at rest"},
		{"relay without heartbeat", interlock.Proof{Relay: true}, false, "see that relay and dead-man relay stand in series, both in the motors' supply"},
		{"heartbeat stuck high", interlock.Proof{Relay: true, High: true}, false, "the dead-man circuit takes a level for edges: trigger the monostable by one kind of edge"},
		{"relay with heartbeat", interlock.Proof{Relay: true, Beats: true}, true, "see to the supply, the relay's driver, the heartbeat's wire, and that the monostable holds for 20 to 100 ms"},
		{"heartbeat stops", interlock.Proof{Relay: true}, false, "the monostable holds too long, or the dead-man relay sticks"},
		{"stop contact opened", interlock.Proof{Relay: true, Beats: true, Open: true}, false, "put the normally closed stop contact into the motors' supply, or into the relay's coil"},
		{"relay line low", interlock.Proof{Beats: true}, false, "the relay's driver does not let go, or the relay sticks"},
	} {
		f := t.see(s.check, s.does, s.on, s.remedy)
		found = append(found, f)
		if f.Grade != Well {
			break
		}
	}
	return found
}

// relayTest is a try of relay and heartbeat.
type relayTest struct {
	lines   Circuit
	wires   *pinout.Wires
	who     Person
	settles signal.Time
	opened  bool // the stop contact, as asked
}

// see has relay and heartbeat do something and asks what comes of it.
func (t *relayTest) see(check string, does interlock.Proof, on bool, remedy string) Result {
	if does.Open != t.opened {
		if moved := t.move(check, does.Open); moved.Check != "" {
			return moved
		}
	}
	if err := t.lines.Prove(does); err != nil {
		return Result{check, Wrong, err.Error(), "end the program that has the line; gpioinfo names it"}
	}
	saw, err := t.ask()
	if err == nil && saw == on {
		if f := t.sense(check, saw); f.Check != "" {
			return f
		}
	}
	state := map[bool]string{false: "off", true: "on"}
	switch {
	case err != nil:
		return Result{check, NotTried, err.Error(), ""}
	case saw != on:
		if on && t.closesAtLow() {
			remedy = "the relay closes while its line is low, as modules do whose input is active low: it would close when the Pi is off or starts; use a transistor that closes it at a high line"
		}
		return Result{check, Wrong, "the supply is " + state[saw] + ", and should be " + state[on], remedy}
	}
	return Result{Check: check, Says: "the supply is " + state[saw] + ", as it should be"}
}

// closesAtLow says whether the supply comes with the relay's line low and the heartbeat running.
func (t *relayTest) closesAtLow() bool {
	if t.lines.Prove(interlock.Proof{Beats: true}) != nil {
		return false
	}
	on, err := t.ask()
	return err == nil && on
}

// sense holds the input that sees the supply against what the person sees. The result is empty where
// both agree, or there is none.
func (t *relayTest) sense(check string, lamp bool) Result {
	pin := t.wires.Supply
	if pin == 0 {
		return Result{}
	}
	at, err := t.lines.Read(pin)
	if err != nil {
		return Result{check, Wrong, err.Error(), "see that no other program has the line"}
	}
	if at == lamp {
		return Result{}
	}
	level, light, remedy := "low", "lit", "the sense does not reach its pin: see to the optocoupler, its resistors and its wire, and that it is behind the contactors"
	if at {
		level, light, remedy = "high", "dark", "the sense stays on: see that it is behind the contactors, that the bleed resistor is there, and that 10 kohm lead from the pin to ground"
	}
	return Result{check, Wrong, fmt.Sprintf("%s, which sees the supply, is %s while the lamp is %s", pinout.GPIO(pin), level, light), remedy}
}

// move has the stop contact moved, relay and heartbeat low. The result is empty where it
// was.
func (t *relayTest) move(check string, open bool) Result {
	if err := t.lines.Prove(interlock.Proof{}); err != nil {
		return Result{check, Wrong, err.Error(), "end the program that has the line; gpioinfo names it"}
	}
	if err := t.who.MoveStop(open); err != nil {
		return Result{check, NotTried, err.Error(), ""}
	}
	t.opened = open
	if ok, err := stays(t.lines, t.wires.Stop, !open, 60*signal.Second); !ok {
		if err != nil {
			return Result{check, Wrong, err.Error(), "see that no other program has the line"}
		}
		return Result{check, Wrong, "the stop contact was not moved", "try again"}
	}
	return Result{}
}

// ask asks whether the supply is on, and goes on saying that it is alive meanwhile: where
// this stands still, relay and heartbeat are not left as they are.
func (t *relayTest) ask() (on bool, err error) {
	clock := clockOf(t.lines)
	for settled := clock.Now() + t.settles; clock.Now() < settled; {
		if err := t.pass(clock); err != nil {
			return false, err
		}
	}
	if realtime.ByHand(clock) {
		return t.who.Powered() // time passes in pass alone
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
			return a.on, a.err
		default:
		}
		if err := t.pass(clock); err != nil {
			return false, err
		}
	}
}

// pass lets a moment pass.
func (t *relayTest) pass(clock realtime.Clock) error {
	clock.SleepUntil(clock.Now() + livesEvery)
	return t.lines.Alive()
}
