package main

import (
	"bytes"
	"errors"
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"hilrig/suites/file"
	"hilrig/suites/language"
)

// newLint returns the command that checks files without running them.
func newLint() *cobra.Command {
	var f inputFlags
	c := &cobra.Command{
		Use:   "lint FILE...",
		Short: "check car, bench and suite files without running them",
		Long: `Reads each file and shows every problem at its place, with what to write
instead, and warnings of what is allowed and may not be meant; of each suite how
long its longest case takes to play, and how much memory. Whether a file is
a car, a bench or a suite is told by its first key. Suites are checked against
the car and the bench among the files, or else those of --car and --bench, or
else the demo's. A name of a standard suite stands for that suite.

Ends with 0 where there are no problems, warnings or not, and with 3 otherwise.`,
		Example: `  hilrig lint mycar.yaml mybench.yaml mysuite.yaml
  hilrig lint mysuite.yaml --car mycar.yaml`,
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) == 0 {
				return errors.New("lint: name the files to check, as in hilrig lint mycar.yaml mysuite.yaml")
			}
			return nil
		},
		RunE: func(c *cobra.Command, args []string) error {
			l, err := f.lint(args)
			if err != nil {
				return err
			}
			l.print(screenOn(c.OutOrStdout()))
			if len(l.problems) > 0 {
				return endWith(exitWrong)
			}
			return nil
		},
	}
	f.addFiles(c)
	return c
}

// linted is what was found in files.
type linted struct {
	files    int
	problems language.Problems
	warnings language.Warnings
	car      *file.Car   // nil: not read, or with problems
	bench    *file.Bench // nil: not read, or with problems
	sizes    []string    // of each suite that can be played, how long and large it is
}

// lint checks the files at paths, and those of the flags where the paths have
// no car or no bench.
func (f *inputFlags) lint(paths []string) (*linted, error) {
	given, err := f.files(paths)
	if err != nil {
		return nil, err
	}
	l := &linted{files: len(paths)}
	of := map[string][]language.Source{}
	for _, source := range given.Suites {
		kind := l.kind(source)
		of[kind] = append(of[kind], source)
	}
	if len(of["car"]) == 0 {
		of["car"] = append(of["car"], given.Car)
	}
	if len(of["bench"]) == 0 {
		of["bench"] = append(of["bench"], given.Bench)
	}
	for _, source := range of["car"] {
		l.readCar(source)
	}
	for _, source := range of["bench"] {
		l.readBench(source)
	}
	for _, source := range of["suite"] {
		l.readSuite(source, given.Read)
	}
	return l, nil
}

// kind tells what a file is by its first key: "car", "bench" or "suite". Where
// it is none of them, that is a problem, and the kind "".
func (l *linted) kind(s language.Source) string {
	line, text := firstWritten(s.Data)
	key, _, _ := strings.Cut(text, ":")
	key = strings.Trim(key, `{ "'`)
	switch key {
	case "car", "bench", "suite":
		return key
	}
	at := language.Place{File: s.Path, Line: line, Column: 1}
	message := fmt.Sprintf("the file begins with %.40q", text)
	switch {
	case bytes.ContainsRune(s.Data, 0):
		message = "this is no text file"
	case text == "":
		message = "the file is empty"
	}
	l.problems = append(l.problems, language.Problem{Place: at, Value: text, Message: message,
		Remedy: "begin it with car: NAME, bench: NAME or suite: NAME, which says what it is"})
	return ""
}

// firstWritten returns the first line of a file that is neither empty nor a
// comment nor the mark of a document's beginning, and its number from 1. Without
// one it is empty, on line 1.
func firstWritten(data []byte) (number int, text string) {
	data = bytes.TrimPrefix(data, []byte("\uFEFF"))
	for line := range strings.Lines(string(data[:min(len(data), 1<<16)])) {
		number++
		line = strings.TrimSpace(line)
		if line != "" && line[0] != '#' && line != "---" && line[0] != '%' {
			return number, line
		}
	}
	return 1, ""
}

// print writes what was found, in the order of the files' kinds, and a closing line.
func (l *linted) print(s *screen) {
	for _, p := range l.problems {
		fmt.Fprintln(s, language.Problems{p})
	}
	for _, w := range l.warnings {
		w.Message = "warning: " + w.Message
		fmt.Fprintln(s, language.Problems{w})
	}
	for _, size := range l.sizes {
		fmt.Fprintln(s, size)
	}
	text := fmt.Sprintf("%s, no problems", count(l.files, "file"))
	if n := len(l.problems); n > 0 {
		text = fmt.Sprintf("%s, %s", count(l.files, "file"), count(n, "problem"))
	}
	if n := len(l.warnings); n > 0 {
		text += ", " + count(n, "warning")
	}
	fmt.Fprintln(s, text)
}
