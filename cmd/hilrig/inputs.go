package main

import (
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"hilrig/rig/raspberry/pinout"
	"hilrig/suites"
	"hilrig/suites/demo"
	"hilrig/suites/language"
	"hilrig/suites/live"
	"hilrig/suites/record"
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
	flags.StringVar(&f.car, "car", "", "the car `FILE` with the owner's policy (default: the demo car of the board)")
	flags.StringVar(&f.bench, "bench", "", "the bench `FILE` (default: the demo bench of the board, simulated)")
}

// addSeed declares the flag for the seed.
func (f *inputFlags) addSeed(c *cobra.Command) {
	c.Flags().Uint64Var(&f.seed, "seed", 1, "`N` fixes everything that is drawn")
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
	own := demo.Of(f.board)
	files := suites.Files{
		Car:   language.Source{Path: own.CarPath, Data: own.Car},
		Bench: language.Source{Path: own.BenchPath, Data: own.Bench},
		Board: f.board, Command: f.command.named(), Seed: f.seed, Host: thisPi(),
		Read: demo.LogReader(f.inputs.ReadLog, slices.ContainsFunc(names, isOwn)),
	}
	for _, named := range []struct {
		flag, path string
		source     *language.Source
	}{{"--car", f.car, &files.Car}, {"--bench", f.bench, &files.Bench}} {
		if named.path == "" {
			continue
		}
		data, err := f.inputs.Read(named.path)
		if err != nil {
			return files, fmt.Errorf("%s: %w", named.flag, err)
		}
		*named.source = language.Source{Path: named.path, Data: data}
	}
	for _, name := range names {
		source, err := f.suiteNamed(name)
		if err != nil {
			return files, err
		}
		files.Suites = append(files.Suites, source)
	}
	return files, nil
}

// thisPi tells which Pi this machine is, if it is one.
func thisPi() pinout.Model { return pinout.Identify(os.DirFS("/")).Model }

// suiteNamed returns a standard suite or the file at a path.
func (f *inputFlags) suiteNamed(name string) (language.Source, error) {
	if path, data, ok := standard.Source(name); ok {
		return language.Source{Path: path, Data: data}, nil
	}
	if ext := filepath.Ext(name); ext != ".yaml" && ext != ".yml" && !strings.ContainsRune(name, filepath.Separator) {
		known := append(standard.Names(), standard.Soak)
		if near := language.Nearest(name, known); near != "" {
			return language.Source{}, fmt.Errorf("suite %q is not known; use %s", name, near)
		}
		return language.Source{}, fmt.Errorf("suite %q is not known; use %s or the path of a YAML file", name, strings.Join(known, ", "))
	}
	data, err := f.inputs.Read(name)
	return language.Source{Path: name, Data: data}, err
}

// isOwn says of the name of a suite that it is none of the standard ones.
func isOwn(name string) bool {
	return name != standard.Soak && !slices.Contains(standard.Names(), name)
}
