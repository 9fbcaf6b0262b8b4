package main

import (
	"fmt"
	"os"
	"strings"

	"hilrig/rig"
	"hilrig/rig/board"
	"hilrig/rig/decode"
	"hilrig/rig/raspberry"
	"hilrig/rig/raspberry/pinout"
	"hilrig/rig/signal"
	"hilrig/suites"
	"hilrig/suites/file"
)

// rehearsal is the kind of a bench in memory, for records.
const rehearsal = "memory bank"

// turns has what is in memory take its turns on a clock from outside; nil: it keeps real
// time, as it always does but in tests, which set it.
var turns *raspberry.Turns

// rehearsalOf returns a bench in memory with a board of the program behind it, on the pins
// of w, which are those of b or proposed for it. Every level of the bench is shown to
// another bank too; nil: to none.
func rehearsalOf(b *file.Bench, w *pinout.Wires, shown raspberry.Bank) *suites.Real {
	formats := formatsOf(b)
	return &suites.Real{
		Kind: rehearsal, Board: true, Restarts: true, Waits: turns != nil,
		About: "a rehearsal of the real-time loop in memory; it says nothing of a Pi",
		Open: func(layout signal.Layout, b board.Board) (rig.Bench, error) {
			pins := pinsOf(layout, w.Pins)
			bank, err := raspberry.NewBoarded(b, layout, pins)
			if err != nil {
				return nil, err
			}
			if shown != nil {
				bank.Share(shown)
			}
			seat := raspberry.DefaultSeat(os.DirFS("/"))
			tickOn(seat)
			return raspberry.New(raspberry.Settings{Layout: layout, Bank: bank, Pins: pins, Seat: seat, Formats: formats, Time: turns})
		},
	}
}

// tickOn gives the goroutine that plays a rank beside the loop's, if that has one. What
// is refused is refused to the loop as well, and hilrig ready tells it.
func tickOn(loop raspberry.Seat) {
	if loop.Rank > 0 {
		_ = raspberry.Seat{Rank: max(loop.Rank-1, 2)}.Take()
	}
}

// realOn returns the bench on this machine's pins. The error says what the machine
// lacks, and what can be done without; or who else has its pins.
func realOn(b *file.Bench, model pinout.Model) (*suites.Real, error) {
	limits := model.Limits()
	if limits.Way == pinout.NoWay {
		return nil, lacking{fmt.Errorf("%s: kind is raspberry, and this machine is %v: %s; run it on a Pi, rehearse it with --bank memory, or leave kind out to play it simulated", b.Source.Path, model, limits.Why)}
	}
	w := wiresOf(b)
	if err := raspberry.LookUp(model, &w); err != nil {
		return nil, lacking{fmt.Errorf("%s: %w", b.Source.Path, err)}
	}
	return &suites.Real{
		Kind: model.String() + ", " + limits.Way.String(), Restarts: resetOf(b) > 0,
		About: aboutPins(model, b.Wiring.Motors[0].Kind),
		Open: func(layout signal.Layout, _ board.Board) (rig.Bench, error) {
			pins, err := headerPins(layout, b)
			if err != nil {
				return nil, err
			}
			seat := raspberry.DefaultSeat(os.DirFS("/"))
			bench, err := raspberry.OpenPins(model, raspberry.PinSettings{
				Layout: layout, Pins: pins, Formats: formatsOf(b), Reset: resetOf(b), Seat: seat, Devices: b.Devices,
			})
			if err == nil {
				tickOn(seat)
			}
			return bench, err
		},
	}, nil
}

// headerPins returns the header's pins of a layout's lines: only the line of a port on a
// device may go without.
func headerPins(layout signal.Layout, b *file.Bench) (raspberry.Pins, error) {
	pins := make(raspberry.Pins, len(layout.Lines))
	for i, l := range layout.Lines {
		switch n := b.Pins[l.Name]; {
		case n > 0:
			pins[i] = uint8(n)
		case b.Devices[l.Name] != "":
			pins[i] = raspberry.NoPin
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

// aboutPins says in a line how a model's pins are reached, why, and what follows.
func aboutPins(model pinout.Model, motors decode.MotorKind) string {
	limits := model.Limits()
	var list []string
	for k := range decode.MotorKinds {
		if limits.Motors[k] != pinout.No {
			list = append(list, k.String())
		}
	}
	text := fmt.Sprintf("%v by its %v: %s; up to %.3g encoder edges a second; reads %s", model, limits.Way, limits.Why, limits.Edges, strings.Join(list, ", "))
	if doubt := limits.Doubt[motors]; doubt != "" {
		text += fmt.Sprintf("; %v: %s", motors, doubt)
	}
	return text
}

// formatsOf returns the formats of the bench's motor commands.
func formatsOf(b *file.Bench) []decode.MotorKind {
	var all []decode.MotorKind
	for i := range b.Wiring.Motors {
		all = append(all, b.Wiring.Motors[i].Kind)
	}
	return all
}

// pinsOf returns the pins of a layout's lines. Those that have none, as the lines of a
// port on an adapter, are given one that is free.
func pinsOf(layout signal.Layout, named map[string]int) raspberry.Pins {
	used := map[int]bool{}
	for _, n := range named {
		used[n] = true
	}
	free := 0
	pins := make(raspberry.Pins, len(layout.Lines))
	for i, l := range layout.Lines {
		n := named[l.Name]
		if n == 0 {
			for used[free] {
				free++
			}
			n = free
			used[n] = true
		}
		pins[i] = uint8(n)
	}
	return pins
}
