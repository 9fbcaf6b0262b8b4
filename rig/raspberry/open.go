package raspberry

import (
	"errors"
	"fmt"

	"hilrig/rig"
	"hilrig/rig/decode"
	"hilrig/rig/raspberry/chardev"
	"hilrig/rig/raspberry/pinout"
	"hilrig/rig/raspberry/realtime"
	"hilrig/rig/raspberry/registers"
	"hilrig/rig/signal"
)

// PinSettings say what a bench on this computer's header is made of.
type PinSettings struct {
	Layout  signal.Layout
	Pins    registers.Pins     // GPIO numbers, by line of Layout
	Formats []decode.MotorKind // of the captured lines
	// Reset is the GPIO number of the board's reset line, or of its supply's relay: high
	// while the board runs, low to restart it. 0: none, the bench cannot restart.
	Reset      int
	Scheduling realtime.Scheduling // of the loop
	Devices    map[string]string   // see [Settings]
}

// OpenPins opens a bench on the pins of this computer, which is a model: by the
// registers or by the character device, as its limits say. Driven lines begin at
// their idle levels. It fails, no line changed, where another program or a driver of the
// kernel has one of them.
func OpenPins(model pinout.Model, s PinSettings) (rig.Bench, error) {
	limits := model.Limits()
	switch limits.Way {
	case pinout.Mapped:
		if err := refuseUsed(s.uses(), AskKernel); err != nil {
			return nil, err
		}
		r, err := registers.OpenRegisters(model)
		if err != nil {
			return nil, err
		}
		return openMapped(r, r, s)
	case pinout.CharacterDevice:
		path, err := chardev.HeaderChip()
		if err != nil {
			return nil, err
		}
		return openChar(path, s)
	}
	return nil, fmt.Errorf("this is %v: %s", model, limits.Why)
}

// openChar opens a bench on the chip at path; nil where it fails.
func openChar(path string, s PinSettings) (rig.Bench, error) {
	b, err := chardev.NewCharDevice(chardev.CharSettings{Layout: s.Layout, Path: path, Pins: s.Pins, Scheduling: s.Scheduling, Formats: s.Formats, Reset: s.Reset, Devices: s.Devices})
	if err != nil {
		return nil, err
	}
	return b, nil
}

// OpenLines opens the lines of this computer, which is a model, one by one. By registers
// it does not look whether others have them, as [LookUp] and [OpenPins] do: lines are
// opened to make them safe too, and nothing may keep them from that.
func OpenLines(model pinout.Model) (registers.Lines, error) {
	limits := model.Limits()
	switch limits.Way {
	case pinout.Mapped:
		return registers.OpenRegisters(model)
	case pinout.CharacterDevice:
		path, err := chardev.HeaderChip()
		if err != nil {
			return nil, err
		}
		return chardev.OpenCharLines(path)
	}
	return nil, fmt.Errorf("this is %v: %s", model, limits.Why)
}

// openMapped opens a bench on a bank whose lines were made ready: outputs at their
// idle levels, and inputs pulled to theirs, so that a wire that is off looks like a
// board that sends nothing. It closes lines, where it fails too.
func openMapped(bank registers.Bank, lines registers.Lines, s PinSettings) (rig.Bench, error) {
	err := registers.CheckPinsBut(s.Layout, s.Pins, s.Devices)
	if err == nil {
		err = makeReady(lines, s)
	}
	if err != nil {
		return nil, errors.Join(err, lines.Close())
	}
	b, err := registers.New(registers.Settings{Layout: s.Layout, Bank: bank, Pins: s.Pins, Scheduling: s.Scheduling, Formats: s.Formats, Devices: s.Devices})
	if err != nil {
		return nil, errors.Join(err, lines.Close())
	}
	return &mapped{b, lines, s.Reset}, nil
}

// makeReady makes lines what the bench uses them for. The pin of a UART is its
// driver's.
func makeReady(lines registers.Lines, s PinSettings) error {
	for i, l := range s.Layout.Lines {
		pin := int(s.Pins[i])
		var err error
		switch {
		case s.devices(l):
		case s.Devices[l.Name] != "": // it listens to an adapter, which rests high
			err = lines.Input(pin, registers.PullUp)
		case l.Direction == signal.Drive:
			err = lines.Output(pin, l.Idle)
		case l.Idle:
			err = lines.Input(pin, registers.PullUp)
		default:
			err = lines.Input(pin, registers.PullDown)
		}
		if err != nil {
			return fmt.Errorf("line %s: %w", l.Name, err)
		}
	}
	if s.Reset > 0 {
		return lines.Output(s.Reset, true)
	}
	return nil
}

// mapped is a bench on registers, with the lines that it was made ready by.
type mapped struct {
	*registers.Bench
	lines registers.Lines
	reset int
}

// Restart holds the board's reset line low for a while. What is driven goes on
// meanwhile.
func (b *mapped) Restart() error {
	if err := b.Bench.Restart(); b.reset == 0 || !errors.Is(err, rig.ErrNotPossible) {
		return err
	}
	err := b.lines.Write(b.reset, false)
	realtime.Pause(chardev.ResetFor)
	if err = errors.Join(err, b.lines.Write(b.reset, true)); err != nil {
		return fmt.Errorf("bench on pins: reset the board: %w", err)
	}
	return nil
}

// Close closes the bench, then its lines, which keep their levels.
func (b *mapped) Close() error { return errors.Join(b.Bench.Close(), b.lines.Close()) }
