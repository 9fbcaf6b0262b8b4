package main

import (
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"hilrig/rig/raspberry"
	"hilrig/rig/raspberry/pinout"
	"hilrig/rig/raspberry/supervisor"
	"hilrig/rig/signal"
	"hilrig/suites"
	"hilrig/suites/file"
)

// liveFlags say on which bench in real time something is played.
type liveFlags struct{ bank, attended string }

// add declares the flags.
func (f *liveFlags) add(c *cobra.Command) {
	flags := c.Flags()
	flags.StringVar(&f.bank, "bank", "", "play in real time into a `BANK`: memory, a bank in memory with the board behind it, or memory:FILE, the same in a file and under the guard (default: as the bench file says)")
	flags.StringVar(&f.attended, "attended", "yes", "where the bench is real, `yes`: somebody is there and confirms a list; no: nobody, with motors_powered: signals_only alone")
}

// on puts the setup on the bench that flags and bench file name. Where that bench needs
// a guard and this process is not its worker, the error is how the whole command
// ended.
func (f *liveFlags) on(c *cobra.Command, s *suites.Setup) error {
	kind, path, named := strings.Cut(f.bank, ":")
	switch {
	case f.bank == "" && s.Bench.Kind == "raspberry":
		return f.onPins(c, s)
	case f.bank == "":
		return nil
	case kind != "memory" || named && path == "":
		return fmt.Errorf("--bank is %q; write memory or memory:FILE", f.bank)
	}
	if named {
		return f.onFile(c, s, path)
	}
	w, _, err := wiresOf(s.Bench).Propose()
	if err != nil {
		return fmt.Errorf("%s: %w", s.Bench.Source.Path, err)
	}
	if err := raspberry.Hasten(); err != nil {
		fmt.Fprintln(c.ErrOrStderr(), "hilrig:", err)
	}
	return s.On(rehearsalOf(s.Bench, &w, nil))
}

// inFile returns a bench on a bank in memory that is a file, with the board behind it,
// and its lines for a guard.
func inFile(b *file.Bench, path string) (*suites.Real, supervisor.Parts, error) {
	w, _, err := wiresOf(b).Propose()
	if err != nil {
		return nil, supervisor.Parts{}, fmt.Errorf("%s: %w", b.Source.Path, err)
	}
	bank, err := raspberry.OpenMemoryFile(path)
	if err != nil {
		return nil, supervisor.Parts{}, err
	}
	if bank.Fresh() && w.Stop != 0 {
		bank.Set(1 << w.Stop) // the stop contact is closed until somebody opens it
	}
	open := func() (raspberry.Lines, error) { return raspberry.OpenMemoryFile(path) }
	return rehearsalOf(b, &w, bank), partsOf(&w, pinsOf(w.Layout, w.Pins), open), nil
}

// partsOf returns the lines of a bench that a guard makes safe. Those of ports on a
// device are the device's.
func partsOf(w *pinout.Wires, pins raspberry.Pins, open func() (raspberry.Lines, error)) supervisor.Parts {
	parts := supervisor.Parts{Pins: supervisor.Pins{Stop: w.Stop, Relay: w.Relay, Heartbeat: w.Heartbeat}, Open: open}
	device := map[signal.Line]bool{}
	for _, p := range w.Layout.Ports {
		device[p.Line] = w.Devices[p.Name] != ""
	}
	for i, l := range w.Layout.Lines {
		if l.Direction == signal.Drive && !device[signal.Line(i)] {
			parts.Safe = append(parts.Safe, supervisor.Level{GPIO: int(pins[i]), High: l.Idle})
		}
	}
	return parts
}

// onFile puts the setup on the bank in the file at path.
func (f *liveFlags) onFile(c *cobra.Command, s *suites.Setup, path string) error {
	lines, err := claimFile(c.Context(), path)
	if err != nil {
		return behindStopped(c, err, func() (supervisor.Parts, error) {
			_, parts, err := inFile(s.Bench, path)
			return parts, err
		})
	}
	defer letGo(lines)
	real, parts, err := inFile(s.Bench, path)
	if err != nil {
		return err
	}
	return goLive(c, s, real, parts, f.attended, lines)
}

// onPins puts the setup on this machine's pins.
func (f *liveFlags) onPins(c *cobra.Command, s *suites.Setup) error {
	lines, err := claimPins(c.Context())
	if err != nil {
		return behindStopped(c, err, func() (supervisor.Parts, error) { return pinParts(s.Bench, thisPi()), nil })
	}
	defer letGo(lines)
	real, parts, err := pinned(s.Bench)
	if err != nil {
		return err
	}
	return goLive(c, s, real, parts, f.attended, lines)
}

// pinned returns the bench on this machine's pins, and its lines for a guard.
func pinned(b *file.Bench) (*suites.Real, supervisor.Parts, error) {
	model := thisPi()
	real, err := realOn(b, model)
	if err != nil {
		return nil, supervisor.Parts{}, err
	}
	return real, pinParts(b, model), nil
}

// pinParts returns the lines of a bench on the pins of a model, for a guard.
func pinParts(b *file.Bench, model pinout.Model) supervisor.Parts {
	w := wiresOf(b)
	open := func() (raspberry.Lines, error) { return raspberry.OpenLines(model) }
	return partsOf(&w, pinsOf(w.Layout, w.Pins), open)
}
