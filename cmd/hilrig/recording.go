package main

import (
	"fmt"
	"io"
	"os"
	"runtime"
	"strconv"
	"strings"
	"time"

	"hilrig/suites"
	"hilrig/suites/record"
	"hilrig/suites/report"
)

// noRecord is the word for --record that keeps nothing.
const noRecord = "none"

// recordIn begins a record under home: the word none keeps nothing, an empty
// home is the user's state folder.
func recordIn(home string, plan *record.Result, inputs []record.Input) (*record.Writer, error) {
	if home == noRecord {
		return &record.Writer{}, nil
	}
	w, err := record.Begin(home, plan, host(), inputs, time.Now())
	if err != nil {
		return nil, fmt.Errorf("%w; --record DIR keeps it elsewhere, --record none keeps nothing", err)
	}
	return w, nil
}

// homeOf returns the folder that records are kept in or looked for: the one that is named, else the user's.
func homeOf(named string) (string, error) {
	if named == "" || named == noRecord {
		return record.Home()
	}
	return named, nil
}

// hasRoom says by its error where the disk has too little room for a record of so many bytes; the
// word none needs none.
func hasRoom(home string, bytes int64) error {
	if home == noRecord {
		return nil
	}
	home, err := homeOf(home)
	if err != nil {
		return err
	}
	if err := record.Room(home, bytes); err != nil {
		return fmt.Errorf("%w; --record DIR keeps it elsewhere, --record none keeps nothing", err)
	}
	return nil
}

// caseInto returns what keeps each case as it ends. What cannot be kept, Finish tells.
func caseInto(k *record.Writer) func(suite, index int, c record.Case) {
	return func(suite, index int, c record.Case) { _ = k.Case(suite, index, c) }
}

// alongInto returns what keeps the commands along each case; nil where no record is kept.
func alongInto(k *record.Writer) suites.Watched {
	if k.Folder() == "" {
		return nil
	}
	return suites.KeepAlong(k)
}

// wiresInto returns what keeps the wires of a plan's cases in a record.
func wiresInto(k *record.Writer, plan *record.Result) func(suite, index int, w *report.Wires) {
	return func(suite, index int, w *report.Wires) {
		s := &plan.Suites[suite]
		about := s.Name + ": " + s.Cases[index].Title() + "; " + aboutRecorded
		_ = k.Wires(suite, index, func(out io.Writer) error { return w.VCD(out, about) })
	}
}

// aboutRecorded says of a dump what a person has to know of it.
const aboutRecorded = "kept is high where edges were kept; lines of encoders are as they were to be, those that were read back as they were seen"

// host describes this machine and this command.
func host() record.Host {
	name, _ := os.Hostname() // a machine without a name is described without one
	words := make([]string, len(os.Args))
	for i, w := range os.Args {
		words[i] = quoted(w)
	}
	return record.Host{
		Program: version(), Go: runtime.Version(), System: runtime.GOOS + "/" + runtime.GOARCH,
		Machine: name, Cores: runtime.NumCPU(), Command: strings.Join(words, " "),
	}
}

// quoted writes one word of a command line, in quotes where it needs some.
func quoted(w string) string {
	if w == "" || strings.ContainsAny(w, " \t\n\"'$") {
		return strconv.Quote(w)
	}
	return w
}
