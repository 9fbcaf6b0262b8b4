package main

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"hilrig/suites"
	"hilrig/suites/demo"
	"hilrig/suites/file"
	"hilrig/suites/standard"
)

// inputFlags say what is played, to which board.
type inputFlags struct {
	car, bench, board string
	seed              uint64
}

// add declares the flags.
func (f *inputFlags) add(c *cobra.Command) {
	flags := c.Flags()
	flags.StringVar(&f.car, "car", "", "the car `FILE` with the owner's policy (default: the demo car)")
	flags.StringVar(&f.bench, "bench", "", "the bench `FILE` (default: the demo bench, simulated)")
	flags.StringVar(&f.board, "board", "built-in", "the `BOARD` under test: built-in, or built-in:FAULT with a seeded fault")
	flags.Uint64Var(&f.seed, "seed", 1, "`N` fixes everything that is drawn")
}

// load reads car, bench and the suites of these names.
func (f *inputFlags) load(names []string) (*suites.Setup, error) {
	files := suites.Files{
		Car:   file.Source{Path: demo.CarPath, Data: demo.CarYAML},
		Bench: file.Source{Path: demo.BenchPath, Data: demo.BenchYAML},
		Board: f.board, Seed: f.seed,
	}
	var err error
	if f.car != "" {
		if files.Car, err = read("--car", f.car); err != nil {
			return nil, err
		}
	}
	if f.bench != "" {
		if files.Bench, err = read("--bench", f.bench); err != nil {
			return nil, err
		}
	}
	for _, name := range names {
		source, err := suiteNamed(name)
		if err != nil {
			return nil, err
		}
		files.Suites = append(files.Suites, source)
	}
	return suites.Load(files)
}

// suiteNamed returns a standard suite or the file at a path.
func suiteNamed(name string) (file.Source, error) {
	if path, data, ok := standard.Source(name); ok {
		return file.Source{Path: path, Data: data}, nil
	}
	if ext := filepath.Ext(name); ext != ".yaml" && ext != ".yml" && !strings.ContainsRune(name, filepath.Separator) {
		return file.Source{}, fmt.Errorf("suite %q is not known; use %s or the path of a YAML file", name, strings.Join(standard.Names(), ", "))
	}
	return read("suite", name)
}

// read reads a file that the user named as what.
func read(what, path string) (file.Source, error) {
	data, err := os.ReadFile(path)
	if err != nil {
		return file.Source{}, fmt.Errorf("%s: %w", what, err)
	}
	return file.Source{Path: path, Data: data}, nil
}
