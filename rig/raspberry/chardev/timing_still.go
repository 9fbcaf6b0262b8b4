//go:build linux

package chardev

import (
	"errors"
	"fmt"
	"math/bits"
	"time"

	"hilrig/rig/raspberry/cdev"
)

// quietPins are lines of a Pi's header that a Pi as it comes gives no other function, in
// the order in which they are taken. To give a line back makes its pin an input
// (raspberrypi/linux, drivers/pinctrl/pinctrl-rp1.c): one that a serial bus has, say,
// would be cut off from it.
var quietPins = []uint32{23, 24, 25, 26, 27, 22, 17, 16, 5, 6, 13, 12, 21, 20, 19, 18}

// stillDevice is a chip of which lines are read where a bench would set others, and
// where no edge is ever reported.
type stillDevice struct {
	chip         *cdev.Chip
	one, several *cdev.Readings
}

// newStill takes lines of chip to be read, which it changes nothing about, and returns
// their offsets: inputs that nobody uses. It closes chip where it fails.
func newStill(chip *cdev.Chip) (d *stillDevice, lines []int, err error) {
	defer func() {
		if err != nil {
			err = errors.Join(err, chip.Close())
		}
	}()
	var free []uint32
	for _, n := range quietPins {
		info, err := chip.Line(n)
		if err != nil {
			return nil, nil, err
		}
		if !info.Used && !info.IsOutput && len(free) < 1+receiverChannels {
			free = append(free, n)
			lines = append(lines, int(n))
		}
	}
	if len(free) < 1+receiverChannels {
		return nil, nil, fmt.Errorf("only %d of the header's lines are inputs that nobody uses, and %d have to be read; end what uses them, or start the Pi anew", len(free), 1+receiverChannels)
	}
	d = &stillDevice{chip: chip}
	if d.one, err = chip.AsTheyAre(charUser, free[:1]); err != nil {
		return nil, nil, err
	}
	if d.several, err = chip.AsTheyAre(charUser, free[1:]); err != nil {
		return nil, nil, errors.Join(err, d.one.Close())
	}
	return d, lines, nil
}

// Outputs returns lines that are read.
func (d *stillDevice) Outputs([]uint32, uint64) (charOutputs, error) { return stillOutputs{d}, nil }

// Inputs returns a line that never moves.
func (d *stillDevice) Inputs([]uint32, uint64) (charInputs, error) { return quietInputs{}, nil }

// Close gives the lines back.
func (d *stillDevice) Close() error {
	return errors.Join(d.one.Close(), d.several.Close(), d.chip.Close())
}

type stillOutputs struct{ *stillDevice }

// Set reads: one line for one, and several for more.
func (o stillOutputs) Set(mask, _ uint64) error {
	read := o.several
	if bits.OnesCount64(mask) == 1 {
		read = o.one
	}
	_, err := read.Levels()
	return err
}

// Close leaves the lines to the device.
func (o stillOutputs) Close() error { return nil }

type quietInputs struct{}

func (quietInputs) Await(wait time.Duration) error { time.Sleep(wait); return nil }
func (quietInputs) Read([]cdev.Event) (int, error) { return 0, nil }
func (quietInputs) Start() uint64                  { return 0 }
func (quietInputs) Close() error                   { return nil }
