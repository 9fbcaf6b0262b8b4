package live

import (
	"context"
	"errors"
	"fmt"
	"os"
	"strconv"
	"strings"

	"hilrig/rig/raspberry/chardev"
	"hilrig/rig/raspberry/pinout"
	"hilrig/rig/raspberry/realtime"
	"hilrig/rig/raspberry/registers"
	"hilrig/rig/signal"
)

// How many edges a second are played where nobody says: those of four wheels of 1024
// lines at 90 turns a second; what a Pi 5 is reckoned to play; more than four motors'
// servo pulses have.
const (
	edgesOnPinBank  = 1.5e6
	edgesByDevice   = 100e3
	edgesOverJumper = 10e3
)

// WrongUse is the error of a command line that does not fit the machine.
type WrongUse struct{ error }

// TimingSettings say on what, how long and how a machine's timing is measured.
type TimingSettings struct {
	Memory bool             // a word in memory stands for the pins
	Chip   string           // path of a GPIO chip; empty means this machine's pins
	Jumper string           // "17,22" as [ParseJumper] reads it; empty means none
	For    signal.Time      // how long
	Edges  *float64         // edges a second; nil means what goes without saying
	Turns  *registers.Turns // as for [InMemory]
}

// PrepareTiming returns what to measure on, and how. Its error is a [WrongUse] where the
// settings do not fit each other or the machine.
func PrepareTiming(f TimingSettings) (*Timed, *TimingTrial, error) {
	root := os.DirFS("/")
	t := &Timed{Scheduling: realtime.DefaultScheduling(root)}
	link, err := ParseJumper(f.Jumper)
	if err != nil {
		return nil, nil, WrongUse{err}
	}
	if f.Memory {
		t.On, t.NoPi = "a word in memory in place of pins", true
		return t, f.onPinBank(t, &registers.Memory{}, f.Turns), nil
	}
	model := pinout.Identify(root).Model
	if f.Chip != "" {
		t.On, t.NoPi = f.Chip+", by the character device", model == pinout.NoPi
		return f.byDevice(t, f.Chip, link)
	}
	const instead = "hilrig timing --bank memory measures this machine with a word in memory in place of pins"
	switch model.Limits().Access {
	case pinout.Mapped:
		if link != nil {
			return nil, nil, WrongUse{fmt.Errorf("timing: the pins of a %v are played by its registers, and no jumper is needed; leave --jumper out, or name the chip with --chip to measure its character device all the same", model)}
		}
		pins, err := registers.OpenRegisters(model)
		if err != nil {
			return nil, nil, fmt.Errorf("%w; %s", err, instead)
		}
		t.On = "the registers of a " + model.String() + ", no pin changed"
		return t, f.onPinBank(t, registers.LeaveAlone(pins), nil), nil
	case pinout.CharacterDevice:
		if link != nil {
			if err := link.Check(); err != nil {
				return nil, nil, WrongUse{fmt.Errorf("timing: %w", err)}
			}
		}
		path, err := chardev.HeaderChip()
		if err != nil {
			return nil, nil, fmt.Errorf("%w; %s", err, instead)
		}
		t.On = "the pins of a " + model.String() + ", by the character device"
		return f.byDevice(t, path, link)
	}
	return nil, nil, errors.New("this is no Raspberry Pi whose pins hilrig knows; " + instead + ", and --chip with --jumper a GPIO chip")
}

// onPinBank returns how to measure on a bank, by a clock from outside, and in real time where it is nil.
func (f *TimingSettings) onPinBank(t *Timed, bank registers.PinBank, clock *registers.Turns) *TimingTrial {
	t.Asked = f.rate(edgesOnPinBank)
	trial := registers.TimingTrial{PinBank: bank, Scheduling: t.Scheduling, Time: clock, For: f.For, Edges: t.Asked}
	return &TimingTrial{Run: func(ctx context.Context, progress func(done signal.Time)) (err error) {
		trial.Progress = progress
		t.Measured, err = trial.Run(ctx)
		return err
	}}
}

// byDevice returns how to measure by the character device.
func (f *TimingSettings) byDevice(t *Timed, path string, link *chardev.Link) (*Timed, *TimingTrial, error) {
	t.Asked = f.rate(edgesByDevice)
	if link != nil {
		t.Asked = f.rate(edgesOverJumper)
	}
	if most := float64(chardev.MostEdges); t.Asked > most || link != nil && t.Asked == 0 {
		return nil, nil, WrongUse{fmt.Errorf("timing: --edges %g by the character device; ask for up to %.0f a second, and over a jumper for more than 0", t.Asked, most)}
	}
	trial := chardev.Trial{Path: path, Jumper: link, Scheduling: t.Scheduling, For: f.For, Edges: t.Asked}
	return t, &TimingTrial{Link: link, Run: func(ctx context.Context, progress func(done signal.Time)) (err error) {
		trial.Progress = progress
		t.Char, err = trial.Run(ctx)
		return err
	}}, nil
}

// rate returns the edges a second that were asked for, or what goes without saying.
func (f *TimingSettings) rate(otherwise float64) float64 {
	if f.Edges != nil {
		return *f.Edges
	}
	return otherwise
}

// ParseJumper reads "17,22"; nil for nothing.
func ParseJumper(text string) (*chardev.Link, error) {
	if text == "" {
		return nil, nil
	}
	out, in, two := strings.Cut(text, ",")
	from, wrongFrom := strconv.Atoi(strings.TrimSpace(out))
	to, wrongTo := strconv.Atoi(strings.TrimSpace(in))
	if !two || wrongFrom != nil || wrongTo != nil || from < 0 || to < 0 || from == to {
		return nil, fmt.Errorf("timing: --jumper %s; write the number of the GPIO that is driven, a comma, and that of the one that listens, as 17,22", text)
	}
	return &chardev.Link{Out: from, In: to}, nil
}
