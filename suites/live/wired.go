package live

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"

	"hilrig/rig/decode"
	"hilrig/rig/interlock"
	"hilrig/rig/raspberry/circuit"
	"hilrig/rig/raspberry/pinout"
	"hilrig/rig/signal"
	"hilrig/suites/file"
)

// Wired is what the file of a bench, or of a stand, says of its wires and of the supply behind them.
type Wired struct {
	Path    string // of the file
	Wires   pinout.Wires
	Motor   decode.Motor       // as declared of the first motor line, or of a stand's throttle
	Formats []decode.MotorKind // of the motor commands, that are captured or that a stand drives
	Power   interlock.Power
	Limit   float64 // motor_limit; 0: not declared
	Motors  string  // other words as soon as a line is on another pin, or motor commands are others
	OnPins  bool    // the file says that it stands on a Pi's header
	Stand   bool    // a speed controller is under test, and no board

	Interlock file.Interlock // as declared
}

// SupplyOf returns how the supply is judged: by what is declared, else by what was learnt: how long
// it took to go at most since this machine was started, 0 where that was not seen.
func (w *Wired) SupplyOf(fell signal.Time) interlock.Supply {
	i := &w.Interlock
	s := interlock.Supply{Coast: i.Coast, Falls: 2 * fell}
	if i.Pack > 0 && i.Capacitance > 0 && i.Bleed > 0 {
		s.Falls = max(s.Falls, w.Circuit().Falls)
	}
	if s.Falls > 0 {
		s.Falls = max(s.Falls, leastFalls)
	}
	return s
}

// leastFalls is the least that a supply is given to go: contactors and their timer take some of it.
const leastFalls = 200 * signal.Millisecond

// Circuit returns the values of the circuit for what is declared.
func (w *Wired) Circuit() circuit.Values {
	i := &w.Interlock
	return circuit.Work(circuit.Supply{Pack: i.Pack, Capacitance: i.Capacitance, Bleed: i.Bleed})
}

// OfBench returns what a bench file says of it.
func OfBench(b *file.Bench) *Wired {
	w := &Wired{Path: b.Source.Path, Motor: b.Wiring.Motors[0], Wires: WiresOf(b), Power: b.Power, Limit: b.Interlock.MotorLimit, Motors: MotorsWired(b), OnPins: b.Kind == onPins, Interlock: b.Interlock}
	for i := range b.Wiring.Motors {
		w.Formats = append(w.Formats, b.Wiring.Motors[i].Kind)
	}
	return w
}

// OfStand returns what a stand file says of it. A stand has no board that is restarted.
func OfStand(s *file.Stand) *Wired {
	return &Wired{
		Path: s.Source.Path, Power: s.Power, Motor: s.Throttle.Motor, Formats: []decode.MotorKind{s.Throttle.Motor.Kind},
		Motors: digestOf(s.Pins, s.Throttle.Motor), Limit: s.Interlock.MotorLimit, OnPins: s.Kind == onPins, Stand: true,
		Wires: pinout.Wires{
			Layout: s.Layout(), Pins: s.Pins, Devices: s.Devices, Reset: noReset,
			Stop: s.Interlock.Stop, Relay: s.Interlock.Relay, Heartbeat: s.Interlock.Heartbeat, Supply: s.Interlock.Supply,
		},
		Interlock: s.Interlock,
	}
}

// onPins is the kind of a bench or stand on a Pi's header, as files say it.
const onPins = "raspberry"

// noReset says that the rig does not restart a board.
const noReset = "none"

// reset returns the pin by which a board is restarted, 0 where none is.
func (w *Wired) reset() int {
	if w.Wires.Reset == noReset {
		return 0
	}
	return w.Wires.Pins["reset"]
}

// proposed returns the same with a pin for every wire.
func (w *Wired) proposed() (*Wired, error) {
	p := *w
	var err error
	if p.Wires, err = w.Wires.ToPlay(); err != nil {
		return nil, fmt.Errorf("%s: %w", w.Path, err)
	}
	return &p, nil
}

// MotorsWired returns words that are others as soon as a bench file has a line on another
// pin, or other motor commands: how the motors turned says nothing any more then.
func MotorsWired(b *file.Bench) string { return digestOf(b.Pins, b.Wiring.Motors) }

// digestOf returns words that are others for other pins or other motor commands.
func digestOf(pins map[string]int, motors any) string {
	sum := sha256.Sum256(fmt.Appendf(nil, "%v %+v", pins, motors)) // fmt sorts the keys of maps
	return hex.EncodeToString(sum[:])
}
