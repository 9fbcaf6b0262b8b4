package record

import (
	"fmt"
	"io"
	"strings"
	"time"
)

// Recorder keeps the record of a run while it goes on. What befalls it does not end the run:
// it keeps what it can, and [Recorder.Finish] says what it could not. The zero value keeps
// nothing. It is used as a [Writer] is.
type Recorder struct {
	writer *Writer
	dumps  int   // of how many cases the wires are kept
	err    error // the first that befell it
}

// Begin begins a record under home; an empty home is the user's state folder.
func Begin(home string, plan *Result, host Host, inputs []Input, began time.Time) (*Recorder, error) {
	if home == "" {
		var err error
		if home, err = Home(); err != nil {
			return nil, err
		}
	}
	w, err := Create(home, plan, host, began)
	if err != nil {
		return nil, err
	}
	if err := w.Inputs(inputs); err != nil {
		w.Discard()
		return nil, err
	}
	return &Recorder{writer: w}, nil
}

// Folder returns where the record is; empty where there is none.
func (k *Recorder) Folder() string {
	if k.writer == nil {
		return ""
	}
	return k.writer.Folder()
}

// Add keeps one finished case.
func (k *Recorder) Add(suite, index int, c Case) {
	if k.writer == nil {
		return
	}
	k.note(k.writer.Case(suite, index, c))
}

// note takes in what came of keeping something.
func (k *Recorder) note(err error) {
	if k.err == nil {
		k.err = err
	}
}

// Wires keeps what was on the wires of a case, as write writes it.
func (k *Recorder) Wires(suite, index int, write func(out io.Writer) error) {
	if k.writer == nil {
		return
	}
	err := k.writer.Wires(suite, index, write)
	if err == nil {
		k.dumps++
	}
	k.note(err)
}

// Dumps returns of how many cases the record keeps the wires.
func (k *Recorder) Dumps() int { return k.dumps }

// Tripped notes that the interlock ended the run; why is empty where it did
// not.
func (k *Recorder) Tripped(why string, at time.Time) {
	if k.writer != nil && why != "" {
		k.writer.Tripped(why, at)
	}
}

// Found notes what an earlier run had left on the lines.
func (k *Recorder) Found(what string) {
	if k.writer != nil && what != "" {
		k.writer.Found(what)
	}
}

// InterlockStood notes for how long the interlock itself stood still at worst.
func (k *Recorder) InterlockStood(long time.Duration) {
	if k.writer != nil {
		k.writer.InterlockStood(long)
	}
}

// Finish keeps the result of a run that took wall seconds and drove for driving seconds. Its
// error says what of the record could not be kept, and where the rest is.
func (k *Recorder) Finish(r *Result, wall, driving float64) error {
	if k.writer == nil {
		return nil
	}
	k.note(k.writer.Finish(r, wall, driving))
	if k.err == nil {
		return nil
	}
	return fmt.Errorf("the record in %s lacks %s: %s; make room, or name another place with --record DIR",
		k.Folder(), strings.Join(k.writer.Lacks(), ", "), strings.ReplaceAll(k.err.Error(), "\n", "; "))
}

// Close closes a record that Finish has not closed.
func (k *Recorder) Close() {
	if k.writer != nil {
		_ = k.writer.Close() // Finish has reported what there was to report
	}
}
