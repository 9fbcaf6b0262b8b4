package main

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"

	"github.com/spf13/cobra"
	"golang.org/x/term"

	"hilrig/rig/interlock"
	"hilrig/rig/raspberry/pinout"
	"hilrig/rig/raspberry/preflight"
	"hilrig/rig/raspberry/realtime"
	"hilrig/rig/raspberry/supervisor"
	"hilrig/suites"
	"hilrig/suites/file"
	"hilrig/suites/language"
	"hilrig/suites/live"
)

// readyFlags are the flags of ready.
type readyFlags struct {
	inputFlags
	bank, attended string
	loopback       bool
	stand          string
}

// newReady returns the command that tries machine, wires and board before motors are
// powered, and then how they turn.
func newReady() *cobra.Command {
	f := readyFlags{inputFlags: inputFlags{seed: 1}}
	c := &cobra.Command{
		Use:   "ready [SUITE...]",
		Short: "try this machine, the wires and the board before motors are powered",
		Long:  live.ReadyHelp,
		Example: `  hilrig ready --bench mybench.yaml
  hilrig ready --bank memory`,
		RunE: func(c *cobra.Command, args []string) error { return f.run(c, args) },
	}
	f.add(c)
	flags := c.Flags()
	flags.StringVar(&f.bank, "bank", "", "memory: rehearse everything behind the machine in `MEMORY`, without a Pi; memory:FILE: in a bank that is a file, and you are asked about the rotation")
	flags.StringVar(&f.attended, "attended", "yes", "`no`: nobody is there to be asked; stop input, relay and rotation are not tried")
	flags.StringVar(&f.stand, "stand", "", "try the stand of a speed controller, as `FILE` describes it, in place of a bench")
	flags.BoolVar(&f.loopback, "loopback", false, "find where jumpers lead that stand in for the board")
	return c
}

// run tries everything.
func (f *readyFlags) run(c *cobra.Command, names []string) error {
	if f.stand == "" {
		var err error
		if names, err = f.suites(c, names); err != nil {
			return err
		}
	}
	memory, path, err := live.ParsePinBank(f.bank)
	if err != nil {
		return fmt.Errorf("ready: %w", err)
	}
	if f.attended != "yes" && f.attended != "no" {
		return fmt.Errorf("ready: --attended is %q; use yes or no", f.attended)
	}
	if f.stand != "" && f.loopback {
		return errors.New("ready: --loopback joins wheel sensors to motor lines, and a stand has neither; leave it out")
	}
	place := live.Place{Model: thisPi(), PinBank: path, Turns: turns}
	if memory || place.Model.Limits().Access != pinout.NoAccess {
		if err := realtime.EnterRealTime(); err != nil {
			fmt.Fprintln(c.ErrOrStderr(), "hilrig:", err)
		}
	}
	if w := workerOf(c.Context()); w != nil {
		return f.play(c, w, names, memory, place)
	}
	setup, of, err := f.subject(c, names)
	if err != nil {
		return err
	}
	r := &readiness{screen: screenOn(c.OutOrStdout()), Readiness: live.Readiness{Of: of, Wires: of.Wires, Loopback: f.loopback}}
	r.inputs = f.inputs
	if f.attended == "yes" {
		r.spotter = attendedBy(c)
		r.Person = r.spotter
	}
	r.terminal = term.IsTerminal(int(os.Stdin.Fd()))
	if memory {
		if err := r.rehearse(&place); err != nil {
			return err
		}
		defer r.forget()
	}
	return r.at(c, setup, place)
}

// subject returns what is tried: the setup of a bench with its suites, or, of a stand, none.
func (f *readyFlags) subject(c *cobra.Command, names []string) (*suites.Setup, *live.Wired, error) {
	if f.stand != "" {
		f.inputs = inputsOf(c.Context())
		s, err := standAt(f.inputs, f.stand)
		if err != nil {
			return nil, nil, err
		}
		if s.Power > interlock.SignalsOnly {
			err = live.MayPlay(s)
		}
		return nil, live.OfStand(s), err
	}
	load := f.loadFor
	if workerOf(c.Context()) != nil {
		load = f.load
	}
	setup, err := load(c, names)
	if err != nil {
		return nil, nil, err
	}
	return setup, live.OfBench(setup.Bench), nil
}

// standAt reads the stand file at a path.
func standAt(inputs *live.Inputs, path string) (*file.Stand, error) {
	data, err := inputs.Read(path)
	if err != nil {
		return nil, fmt.Errorf("--stand: %w", err)
	}
	return file.ParseStand(language.Source{Path: path, Data: data}, func(named string) ([]byte, error) { return inputs.ReadMeasured(filepath.FromSlash(named)) })
}

// at tries what there is at a place: where that is this machine's pins, the machine before them.
func (r *readiness) at(c *cobra.Command, setup *suites.Setup, place live.Place) (err error) {
	if r.claim, err = place.Claim(false); err != nil {
		return err
	}
	defer live.Release(r.claim)
	r.turning = func() (supervisor.Parts, error) {
		_, parts, err := place.On(r.Of)
		return parts, err
	}
	if place.PinBank == "" {
		r.stage("machine", func() []preflight.Result { return live.TryMachine(c.Context(), setup, r.Of, place.Model) })
		r.stage("bench", func() []preflight.Result { return []preflight.Result{live.OnPins(r.Of)} })
		r.Pins = true
	}
	if r.Wrong == 0 {
		if r.Pins {
			if err := r.noteIn(stateFolder()); err != nil {
				return err
			}
		}
		if err := r.tidy(c); err != nil {
			return err
		}
		if !r.warned() {
			return r.end()
		}
	}
	return r.superviseAll(c, setup)
}

// rehearse has what stands behind the machine tried on lines in memory. The place is given a bank
// where it has none.
func (r *readiness) rehearse(place *live.Place) (err error) {
	if r.Wires, err = r.Wires.ToPlay(); err != nil {
		return fmt.Errorf("%s: %w", r.Of.Path, err)
	}
	with := ", with a board made by the program"
	if r.Of.Stand {
		with = ""
	}
	fmt.Fprintf(r, "A rehearsal in memory%s: it says nothing of your machine and wires.\n", with)
	if r.Person != nil {
		r.Person = rehearsed{} // the worker's
	}
	if place.PinBank == "" {
		place.PinBank, err = r.ownBank()
	}
	return err
}

// play does the part of the worker under a supervisor that it was started for.
func (f *readyFlags) play(c *cobra.Command, w *supervisor.Worker, names []string, memory bool, place live.Place) error {
	setup, of, err := f.subject(c, names)
	if err != nil {
		return err
	}
	own := memory && place.PinBank == ""
	if own {
		if place.PinBank = os.Getenv(rehearsedKey); place.PinBank == "" {
			return errors.New("the rehearsal has no bank")
		}
	}
	real, parts, err := place.On(of)
	if err != nil {
		return err
	}
	if os.Getenv(partKey) == partRotation {
		return f.turn(c, w, setup, real, parts, own)
	}
	return f.try(c, w, setup, of, real, parts, place)
}
