package raspberry

import (
	"fmt"

	"hilrig/rig"
	"hilrig/rig/raspberry/chardev"
	"hilrig/rig/raspberry/hostlines"
	"hilrig/rig/raspberry/pinout"
	"hilrig/rig/raspberry/registers"
)

// OpenPins opens a bench on the pins of this computer, which is a model: by the
// registers or by the character device, as its limits say. Driven lines begin at
// their idle levels. It fails, no line changed, where another program or a driver of the
// kernel has one of them.
func OpenPins(model pinout.Model, s hostlines.Settings) (rig.Bench, error) {
	limits := model.Limits()
	switch limits.Access {
	case pinout.Mapped:
		if err := refuseUsed(usesOf(&s), AskKernel); err != nil {
			return nil, err
		}
		r, err := registers.OpenRegisters(model)
		if err != nil {
			return nil, err
		}
		return opened(registers.New(registers.Settings{Settings: s, PinBank: r, Lines: r}))
	case pinout.CharacterDevice:
		path, err := chardev.HeaderChip()
		if err != nil {
			return nil, err
		}
		return opened(chardev.New(path, s))
	}
	return nil, fmt.Errorf("this is %v: %s", model, limits.Why)
}

// opened returns a bench, nil where it failed to open.
func opened[B rig.Bench](bench B, err error) (rig.Bench, error) {
	if err != nil {
		return nil, err
	}
	return bench, nil
}

// OpenLines opens the lines of this computer, which is a model, one by one. By registers
// it does not look whether others have them, as [LookUp] and [OpenPins] do: lines are
// opened to make them safe too, and nothing may keep them from that.
func OpenLines(model pinout.Model) (hostlines.Lines, error) {
	limits := model.Limits()
	switch limits.Access {
	case pinout.Mapped:
		return registers.OpenRegisters(model)
	case pinout.CharacterDevice:
		path, err := chardev.HeaderChip()
		if err != nil {
			return nil, err
		}
		return chardev.OpenLines(path)
	}
	return nil, fmt.Errorf("this is %v: %s", model, limits.Why)
}
