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
	"hilrig/suites/standard"
)

// inputFlags say what is played, to which board.
type inputFlags struct {
	car, bench, board string
	seed              uint64
	inputs            *live.Inputs // what files say; nil: what stands on the disk
}

// add declares the flags.
func (f *inputFlags) add(c *cobra.Command) {
	f.addFiles(c)
	c.Flags().StringVar(&f.board, "board", "built-in",
		"the `BOARD` under test: built-in or built-in/moment, built-in:FAULT with a seeded fault, from-policy that keeps the car's own policy on the bench's own wires, or null:KIND that controls nothing")
	f.addSeed(c)
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
		f.inputs = live.NewInputs(os.ReadFile)
	}
	demo := demo.Of(f.board)
	files := suites.Files{
		Car:   language.Source{Path: demo.CarPath, Data: demo.Car},
		Bench: language.Source{Path: demo.BenchPath, Data: demo.Bench},
		Board: f.board, Seed: f.seed, Host: thisPi(),
		Read: logReader(f.inputs.Read, names),
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
		return language.Source{}, fmt.Errorf("suite %q is not known; use %s or the path of a YAML file", name, strings.Join(standard.Names(), ", "))
	}
	data, err := f.inputs.Read(name)
	return language.Source{Path: name, Data: data}, err
}

// logReader returns what reads the drive logs that suites of these names replay: files, by
// way of read, and the demo's. Of one that is both, the standard suites mean the
// demo's, and a suite of one's own means the file.
func logReader(read func(path string) ([]byte, error), names []string) func(path string) ([]byte, error) {
	own := slices.ContainsFunc(names, func(name string) bool {
		_, _, known := standard.Source(name)
		return !known
	})
	return func(path string) ([]byte, error) {
		if path != demo.LogPath {
			return read(filepath.FromSlash(path))
		}
		if data, err := read(filepath.FromSlash(path)); own && err == nil {
			return data, nil
		}
		return demo.LogCSV, nil
	}
}
