package main

import (
	"fmt"
	"os"
	"slices"

	"github.com/spf13/cobra"

	"hilrig/rig/raspberry/pinout"
	"hilrig/suites"
	"hilrig/suites/live"
	"hilrig/suites/record"
	"hilrig/suites/setup"
	"hilrig/suites/standard"
)

// inputFlags say what is played, to which board.
type inputFlags struct {
	car, bench, board string
	command           boardCommand
	seed              uint64
	inputs            *live.Inputs // what files say; nil: what stands on the disk
}

// add declares the flags.
func (f *inputFlags) add(c *cobra.Command) {
	f.addFiles(c)
	c.Flags().StringVar(&f.board, "board", "built-in",
		"the `BOARD` under test: built-in or built-in/moment, built-in:FAULT with a seeded fault, from-policy that keeps the car's own policy on the bench's own wires, or null:KIND that controls nothing")
	f.command.add(c)
	c.MarkFlagsMutuallyExclusive("board", boardCommandFlag)
	f.addSeed(c)
}

// boardCommand is a program of its own that is the board, as it is typed; empty: there is none.
type boardCommand string

const boardCommandFlag = "board-command"

// add declares its flag.
func (b *boardCommand) add(c *cobra.Command) {
	c.Flags().StringVar((*string)(b), boardCommandFlag, "",
		"have a program be the board: `COMMAND` with its arguments, in which {seed} stands for a number; it speaks as rig/board/README.md says")
}

// named returns the program; nil where there is none.
func (b boardCommand) named() *suites.BoardCommand {
	if b == "" {
		return nil
	}
	return &suites.BoardCommand{Text: string(b)}
}

// addFiles declares the flags for car and bench.
func (f *inputFlags) addFiles(c *cobra.Command) {
	flags := c.Flags()
	flags.StringVar(&f.car, "car", "", "the car `FILE` with the owner's policy, or a folder that hilrig new made (default: as hilrig.yaml here says, or the demo car of the board)")
	flags.StringVar(&f.bench, "bench", "", "the bench `FILE`, or a folder that hilrig new made (default: as hilrig.yaml here says, or the demo bench of the board, simulated)")
}

// addSeed declares the flag for the seed.
func (f *inputFlags) addSeed(c *cobra.Command) {
	c.Flags().Uint64Var(&f.seed, "seed", 1, "`N` fixes everything that is drawn")
}

// resolve finds which car, bench and suites are meant by what is typed, by folders and by hilrig.yaml, and says what of it was
// not typed. Where the command plays no suites, names are folders.
func (f *inputFlags) resolve(c *cobra.Command, names []string, noSuites bool) (*setup.Found, error) {
	f.inputs = inputsOf(c.Context())
	found, err := setup.Find(setup.Typed{Car: f.car, Bench: f.bench, Names: names, NoSuites: noSuites}, f.inputs)
	if err != nil {
		return nil, err
	}
	f.car, f.bench = found.Car, found.Bench
	if workerOf(c.Context()) == nil && !outcomeAlone(c) {
		for _, says := range found.Taken {
			fmt.Fprintln(c.ErrOrStderr(), says)
		}
	}
	return found, nil
}

// suites returns the names of the suites that are meant, as resolve does, or those of the standard ones.
func (f *inputFlags) suites(c *cobra.Command, names []string) ([]string, error) {
	found, err := f.resolve(c, names, false)
	switch {
	case err != nil:
		return nil, err
	case len(found.Suites) == 0:
		return standard.Names(), nil
	}
	return found.Suites, nil
}

// load reads car, bench and the suites of these names, with the signs of life before them.
func (f *inputFlags) load(c *cobra.Command, names []string) (*suites.Setup, error) {
	f.inputs = inputsOf(c.Context())
	if len(names) > 0 && !slices.Contains(names, standard.Life) {
		names = append([]string{standard.Life}, names...)
	}
	files, err := f.files(names)
	if err != nil {
		return nil, err
	}
	return suites.Load(files)
}

// files returns what the flags and names say, read and not looked into.
func (f *inputFlags) files(names []string) (suites.Files, error) {
	if f.inputs == nil {
		f.inputs = live.NewInputs(record.ReadRegular)
	}
	of := suites.Files{Board: f.board, Command: f.command.named(), Seed: f.seed, Host: thisPi()}
	return setup.Read(of, f.car, f.bench, names, f.inputs)
}

// thisPi tells which Pi this machine is, if it is one.
func thisPi() pinout.Model { return pinout.Identify(os.DirFS("/")).Model }
