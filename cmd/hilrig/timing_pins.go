package main

import (
	"errors"
	"fmt"
	"os"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"hilrig/rig/raspberry"
	"hilrig/rig/raspberry/pinout"
	"hilrig/rig/raspberry/realtime"
	"hilrig/rig/signal"
)

// How many edges a second are played where nobody says: those of four wheels of 1024
// lines at 90 turns a second; what a Pi 5 is reckoned to play; more than four motors'
// servo pulses have.
const (
	edgesOnBank     = 1.5e6
	edgesByDevice   = 100e3
	edgesOverJumper = 10e3
)

// wrongUse is the error of a command line that does not fit the machine.
type wrongUse struct{ error }

// pins returns what to measure on, and how.
func (f *timingFlags) pins() (*timed, trial, error) {
	root := os.DirFS("/")
	t := &timed{seat: realtime.DefaultSeat(root)}
	link, err := parseJumper(f.jumper)
	if err != nil {
		return nil, nil, wrongUse{err}
	}
	if f.bank == inMemory {
		t.on, t.noPi = "a word in memory in place of pins", true
		return t, f.onBank(t, &raspberry.Memory{}, turns), nil
	}
	model := pinout.Identify(root).Model
	if f.chip != "" {
		t.on, t.noPi = f.chip+", by the character device", model == pinout.NoPi
		return f.byDevice(t, f.chip, link)
	}
	const instead = "hilrig timing --bank memory measures this machine with a word in memory in place of pins"
	switch model.Limits().Way {
	case pinout.Mapped:
		if link != nil {
			return nil, nil, wrongUse{fmt.Errorf("timing: the pins of a %v are played by its registers, and no jumper is needed; leave --jumper out, or name the chip with --chip to measure its character device all the same", model)}
		}
		registers, err := raspberry.OpenRegisters(model)
		if err != nil {
			return nil, nil, fmt.Errorf("%w; %s", err, instead)
		}
		t.on = "the registers of a " + model.String() + ", no pin changed"
		return t, f.onBank(t, raspberry.LeaveAlone(registers), nil), nil
	case pinout.CharacterDevice:
		if link != nil {
			if err := link.Check(); err != nil {
				return nil, nil, wrongUse{fmt.Errorf("timing: %w", err)}
			}
		}
		path, err := raspberry.HeaderChip()
		if err != nil {
			return nil, nil, fmt.Errorf("%w; %s", err, instead)
		}
		t.on = "the pins of a " + model.String() + ", by the character device"
		return f.byDevice(t, path, link)
	}
	return nil, nil, errors.New("this is no Raspberry Pi whose pins hilrig knows; " + instead + ", and --chip with --jumper a GPIO chip")
}

// onBank returns how to measure on a bank, by a clock from outside; nil: in real time.
func (f *timingFlags) onBank(t *timed, bank raspberry.Bank, clock *raspberry.Turns) trial {
	t.asked = f.rate(edgesOnBank)
	return bankTrial{raspberry.TimingTrial{Bank: bank, Seat: t.seat, Time: clock, For: signal.Time(f.length), Edges: t.asked}}
}

// byDevice returns how to measure by the character device.
func (f *timingFlags) byDevice(t *timed, path string, link *raspberry.Link) (*timed, trial, error) {
	t.asked = f.rate(edgesByDevice)
	if link != nil {
		t.asked = f.rate(edgesOverJumper)
	}
	if most := float64(raspberry.MostCharEdges); t.asked > most || link != nil && t.asked == 0 {
		return nil, nil, wrongUse{fmt.Errorf("timing: --edges %g by the character device; ask for up to %g a second, and over a jumper for more than 0", t.asked, most)}
	}
	return t, charTrial{raspberry.CharTrial{Path: path, Jumper: link, Seat: t.seat, For: signal.Time(f.length), Edges: t.asked}}, nil
}

// rate returns the edges a second that were asked for, or what goes without saying.
func (f *timingFlags) rate(otherwise float64) float64 {
	if f.asked {
		return f.edges
	}
	return otherwise
}

// parseJumper reads "17,22"; nil for nothing.
func parseJumper(text string) (*raspberry.Link, error) {
	if text == "" {
		return nil, nil
	}
	out, in, two := strings.Cut(text, ",")
	from, wrongFrom := strconv.Atoi(strings.TrimSpace(out))
	to, wrongTo := strconv.Atoi(strings.TrimSpace(in))
	if !two || wrongFrom != nil || wrongTo != nil || from < 0 || to < 0 || from == to {
		return nil, fmt.Errorf("timing: --jumper %s; write the number of the GPIO that is driven, a comma, and that of the one that listens, as 17,22", text)
	}
	return &raspberry.Link{Out: from, In: to}, nil
}

// cautioned says what will be driven, and whether a person wants that.
func cautioned(c *cobra.Command, link raspberry.Link) bool {
	out := c.ErrOrStderr()
	fmt.Fprintf(out, `
Before %[1]s is driven:
  - Take the board off the header. Disconnect the motors' supply.
  - Join %[1]s%[3]s to %[2]s%[4]s over 330 ohm or more, and wire nothing else to either.
    A line that only listens is not noticed, and takes every edge for a command.
  - A Pi takes 3.3 V and no more at any pin.
  - This program is not a safety device. Have it checked by somebody qualified,
    and follow your local rules.
`, pinout.GPIO(link.Out), pinout.GPIO(link.In), position(link.Out), position(link.In))
	p := attendedBy(c)
	p.out = out
	if yes, err := p.ask("All of it is done, and I go on: yes or no?"); err != nil || !yes {
		fmt.Fprintln(out, "hilrig: timing: not confirmed; no pin was touched")
		return false
	}
	return true
}

// position says where on a Pi's header a line is.
func position(gpio int) string {
	if n := pinout.Position(gpio); n > 0 {
		return fmt.Sprintf(" (pin %d)", n)
	}
	return ""
}
