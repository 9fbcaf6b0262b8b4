package live

import (
	"fmt"
	"os"

	"hilrig/rig"
	"hilrig/rig/board"
	"hilrig/rig/decode"
	"hilrig/rig/raspberry"
	"hilrig/rig/raspberry/header"
	"hilrig/rig/raspberry/pinout"
	"hilrig/rig/raspberry/realtime"
	"hilrig/rig/raspberry/supervisor"
	"hilrig/rig/signal"
	"hilrig/suites"
	"hilrig/suites/file"
)

// Lacking is the error of a command that is right and cannot be done on this machine.
type Lacking struct{ error }

// Unwrap returns what is lacking.
func (l Lacking) Unwrap() error { return l.error }

// Pinned returns the bench on the pins of this machine, which is a model, and its lines for a supervisor.
func Pinned(b *file.Bench, model pinout.Model) (*suites.Real, supervisor.Parts, error) {
	real, err := realOn(b, model)
	if err != nil {
		return nil, supervisor.Parts{}, err
	}
	return real, PinParts(b, model), nil
}

// PinParts returns the lines of a bench on the pins of a model, for a supervisor.
func PinParts(b *file.Bench, model pinout.Model) supervisor.Parts {
	w := WiresOf(b)
	open := func() (header.Lines, error) { return raspberry.OpenLines(model) }
	return partsOf(&w, PinsOf(w.Layout, w.Pins), open)
}

// realOn returns the bench on this machine's pins. The error says what the machine
// lacks, and what can be done without; or who else has its pins.
func realOn(b *file.Bench, model pinout.Model) (*suites.Real, error) {
	limits := model.Limits()
	if limits.Way == pinout.NoWay {
		return nil, Lacking{fmt.Errorf("%s: kind is raspberry, and this machine is %v: %s; run it on a Pi, rehearse it with --bank memory, or leave kind out to play it simulated", b.Source.Path, model, limits.Why)}
	}
	w := WiresOf(b)
	if err := raspberry.LookUp(model, &w); err != nil {
		return nil, Lacking{fmt.Errorf("%s: %w", b.Source.Path, err)}
	}
	return &suites.Real{
		Kind: model.String() + ", " + limits.Way.String(), Restarts: resetOf(b) > 0,
		Open: func(layout signal.Layout, _ board.Board) (rig.Bench, error) {
			pins, err := headerPins(layout, b)
			if err != nil {
				return nil, err
			}
			scheduling := realtime.DefaultScheduling(os.DirFS("/"))
			bench, err := raspberry.OpenPins(model, header.Settings{
				Layout: layout, Pins: pins, Formats: formatsOf(b), Reset: resetOf(b), Scheduling: scheduling, Devices: b.Devices,
			})
			if err == nil {
				tickOn(scheduling)
			}
			return bench, err
		},
	}, nil
}

// headerPins returns the header's pins of a layout's lines: only the line of a port on a
// device may go without.
func headerPins(layout signal.Layout, b *file.Bench) (header.Pins, error) {
	pins := make(header.Pins, len(layout.Lines))
	for i, l := range layout.Lines {
		switch n := b.Pins[l.Name]; {
		case n > 0:
			pins[i] = uint8(n)
		case b.Devices[l.Name] != "":
			pins[i] = header.NoPin
		default:
			return nil, fmt.Errorf("%s has no pin; give it one under pins, or at its port", l.Name)
		}
	}
	return pins, nil
}

// resetOf returns the pin by which the bench restarts its board, 0 where it cannot.
func resetOf(b *file.Bench) int {
	if b.Board.Reset == "none" {
		return 0
	}
	return b.Pins["reset"]
}

// formatsOf returns the formats of the bench's motor commands.
func formatsOf(b *file.Bench) []decode.MotorKind {
	var all []decode.MotorKind
	for i := range b.Wiring.Motors {
		all = append(all, b.Wiring.Motors[i].Kind)
	}
	return all
}
