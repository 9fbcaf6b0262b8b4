package main

import (
	"fmt"
	"io"
	"os"
	"runtime"
	"strconv"
	"strings"
	"time"

	"hilrig/suites/record"
	"hilrig/suites/report"
)

// keeper keeps the record of a run, or none where its writer is nil.
type keeper struct {
	writer *record.Writer
	plan   *record.Result
	dumps  int   // of how many cases the wires are kept
	err    error // the first that befell it; what can be kept is kept all the same
}

// noRecord is the word for --record that keeps nothing.
const noRecord = "none"

// keepIn begins a record under home: the word none keeps nothing, an empty
// home is the user's state folder.
func keepIn(home string, plan *record.Result, inputs []record.Input) (*keeper, error) {
	if home == noRecord {
		return &keeper{}, nil
	}
	if home == "" {
		var err error
		if home, err = record.Home(); err != nil {
			return nil, err
		}
	}
	w, err := record.Create(home, plan, host(), time.Now())
	if err == nil {
		if err = w.Inputs(inputs); err != nil {
			w.Discard()
		}
	}
	if err != nil {
		return nil, fmt.Errorf("%w; --record DIR keeps it elsewhere, --record none keeps nothing", err)
	}
	return &keeper{writer: w, plan: plan}, nil
}

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

// folder returns where the record is; empty where there is none.
func (k *keeper) folder() string {
	if k.writer == nil {
		return ""
	}
	return k.writer.Folder()
}

// add keeps one finished case.
func (k *keeper) add(suite, index int, c record.Case) {
	if k.writer == nil {
		return
	}
	k.note(k.writer.Case(suite, index, c))
}

// note takes in what came of keeping something.
func (k *keeper) note(err error) {
	if k.err == nil {
		k.err = err
	}
}

// wires keeps what was on the wires of a case.
func (k *keeper) wires(suite, index int, w *report.Wires) {
	if k.writer == nil {
		return
	}
	s := &k.plan.Suites[suite]
	about := s.Name + ": " + caseTitle(&s.Cases[index]) + "; " + aboutKept
	err := k.writer.Wires(suite, index, func(out io.Writer) error { return w.VCD(out, about) })
	if err == nil {
		k.dumps++
	}
	k.note(err)
}

// aboutKept says of a dump what a person has to know of it.
const aboutKept = "kept is high where edges were kept; lines of encoders are as they were to be, those that were read back as they were seen"

// tripped notes that the interlock ended the run just now; why is empty where it did
// not.
func (k *keeper) tripped(why string) {
	if k.writer != nil && why != "" {
		k.writer.Tripped(why, time.Now())
	}
}

// found notes what an earlier run had left on the lines.
func (k *keeper) found(what string) {
	if k.writer != nil && what != "" {
		k.writer.Found(what)
	}
}

// interlockStood notes for how long the interlock itself stood still at worst.
func (k *keeper) interlockStood(long time.Duration) {
	if k.writer != nil {
		k.writer.InterlockStood(long)
	}
}

// finish keeps the result, and says on stderr what of the record could not be kept. It returns
// whether all was.
func (k *keeper) finish(r *record.Result, e ending, stderr io.Writer) bool {
	if k.writer == nil {
		return true
	}
	k.note(k.writer.Finish(r, e.wall, e.driving.Seconds()))
	if k.err == nil {
		return true
	}
	fmt.Fprintf(stderr, "hilrig: warning: the record in %s lacks %s: %v; make room, or name another place with --record DIR\n",
		k.folder(), strings.Join(k.writer.Lacks(), ", "), strings.ReplaceAll(k.err.Error(), "\n", "; "))
	return false
}

// close closes a record that finish has not closed.
func (k *keeper) close() {
	if k.writer != nil {
		_ = k.writer.Close() // finish has reported what there was to report
	}
}
