package live

import (
	"fmt"
	"os"

	"hilrig/rig"
	"hilrig/rig/board"
	"hilrig/rig/raspberry"
	"hilrig/rig/raspberry/hostlines"
	"hilrig/rig/raspberry/pinout"
	"hilrig/rig/raspberry/realtime"
	"hilrig/rig/raspberry/supervisor"
	"hilrig/rig/signal"
	"hilrig/suites"
)

// Unavailable is the error of a command that is right and cannot be done on this machine.
type Unavailable struct{ error }

// Unwrap returns what is missing.
func (u Unavailable) Unwrap() error { return u.error }

// Pinned returns the bench on the pins of this machine, which is a model, and its lines for a supervisor.
func Pinned(w *Wired, model pinout.Model) (*suites.Real, supervisor.Parts, error) {
	real, err := realOn(w, model)
	if err != nil {
		return nil, supervisor.Parts{}, err
	}
	return real, PinParts(w, model), nil
}

// PinParts returns the lines of a bench on the pins of a model, for a supervisor.
func PinParts(w *Wired, model pinout.Model) supervisor.Parts {
	open := func() (hostlines.Lines, error) { return raspberry.OpenLines(model) }
	return partsOf(&w.Wires, PinsOf(w.Wires.Layout, w.Wires.Pins), open)
}

// realOn returns the bench on this machine's pins. The error says what the machine
// lacks, and what can be done without; or who else has its pins.
func realOn(w *Wired, model pinout.Model) (*suites.Real, error) {
	limits := model.Limits()
	if limits.Access == pinout.NoAccess {
		return nil, Unavailable{fmt.Errorf("%s: kind is raspberry, and this machine is %v: %s; run it on a Pi, rehearse it with --bank memory, or leave kind out to play it simulated", w.Path, model, limits.Why)}
	}
	if err := CanSend(model, w.Formats[0]); w.Stand && err != nil {
		return nil, Unavailable{fmt.Errorf("%s: %w", w.Path, err)}
	}
	if err := raspberry.LookUp(model, &w.Wires); err != nil {
		return nil, Unavailable{fmt.Errorf("%s: %w", w.Path, err)}
	}
	denied := &denials{out: os.Stderr}
	return &suites.Real{
		Denied: denied.all,
		Kind:   model.String() + ", " + limits.Access.String(), Restarts: w.reset() > 0,
		Open: func(layout signal.Layout, _ board.Board) (rig.Bench, error) {
			pins, err := headerPins(layout, &w.Wires)
			if err != nil {
				return nil, err
			}
			scheduling := realtime.DefaultScheduling(os.DirFS("/"))
			bench, err := raspberry.OpenPins(model, hostlines.Settings{
				Layout: layout, Pins: pins, Formats: w.Formats, Reset: w.reset(), Scheduling: scheduling, Devices: w.Wires.Devices,
			})
			if err == nil {
				denied.of(bench)
				denied.add(tickOn(scheduling)...)
			}
			return bench, err
		},
	}, nil
}

// headerPins returns the header's pins of a layout's lines: only the line of a port on a
// device may go without.
func headerPins(layout signal.Layout, w *pinout.Wires) (hostlines.Pins, error) {
	pins := make(hostlines.Pins, len(layout.Lines))
	for i, l := range layout.Lines {
		switch n := w.Pins[l.Name]; {
		case n > 0:
			pins[i] = uint8(n)
		case w.Devices[l.Name] != "":
			pins[i] = hostlines.NoPin
		default:
			return nil, fmt.Errorf("%s has no pin; give it one under pins, or at its port", l.Name)
		}
	}
	return pins, nil
}
