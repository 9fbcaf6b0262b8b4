package record

import (
	"cmp"
	"crypto/sha256"
	"errors"
	"fmt"
	"hash"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"time"
)

// The files of a record.
const (
	planName   = "plan.json"
	casesName  = "cases.jsonl"
	hostName   = "host.json"
	resultName = "result.json"
)

// DidNotEnd is the Why of a result whose run broke off.
const DidNotEnd = "the run did not end"

// Stopped is the Why of a result whose run was interrupted.
const Stopped = "the run was stopped"

// line is one line of cases.jsonl.
type line struct {
	Suite int  `json:"suite"` // its place in the plan, counted from 0
	Index int  `json:"index"` // the case's place in its suite, counted from 0
	Case  Case `json:"case"`  // as it stands in the result
}

// Writer writes one record as its run goes. What befalls it does not end the run: it keeps
// what it can, and [Writer.Finish] says what it could not. The zero value keeps nothing. Its
// methods may be called from several goroutines.
type Writer struct {
	folder string
	host   Host

	mu       sync.Mutex // guards what follows
	cases    *os.File   // nil once closed
	casesSum hash.Hash  // over all that was written to cases
	torn     bool       // the last line may lack its end
	along    stream
	lost     int // how many cases have no line
	sums     map[string]string
	failed   map[string]bool // files that could not be written
	dumps    int             // of how many cases the wires are kept
	err      error           // the first that befell it
}

// Begin begins a record under home, with the files that go into the run; an empty home is the
// user's state folder. After an error no folder is left.
func Begin(home string, plan *Result, host Host, inputs []Input, began time.Time) (*Writer, error) {
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
	return w, nil
}

// Create makes a new folder for a record under home and writes the plan into
// it: the result with all its cases, none of them run. Whatever verdicts plan
// holds are left out; plan itself is not changed. began gives the folder its name.
// After an error no folder is left.
func Create(home string, plan *Result, host Host, began time.Time) (*Writer, error) {
	folder, err := newFolder(home, began)
	if err != nil {
		return nil, err
	}
	host.Began, host.Label = began.Format(time.RFC3339), plan.Label
	w := &Writer{folder: folder, host: host, casesSum: sha256.New(), sums: map[string]string{}, failed: map[string]bool{}}
	if err := w.begin(plan); err != nil {
		w.Discard()
		return nil, err
	}
	return w, nil
}

// begin writes what there is before the first case.
func (w *Writer) begin(plan *Result) error {
	if err := w.write(planName, planned(plan).JSON()); err != nil {
		return err
	}
	if err := w.writeHost(w.host); err != nil {
		return err
	}
	var err error
	w.cases, err = os.OpenFile(filepath.Join(w.folder, casesName), os.O_CREATE|os.O_EXCL|os.O_WRONLY, 0o600)
	if err != nil {
		return fmt.Errorf("record: %w", err)
	}
	return syncFolder(w.folder)
}

// Discard closes the record and takes its folder away. It is for a record that could not
// be begun.
func (w *Writer) Discard() {
	_ = w.Close()
	_ = os.RemoveAll(w.folder) // made by Create; what cannot be removed reads as a run that did not end
}

// planned returns a sealed copy of r in which no case has run.
func planned(r *Result) *Result {
	p := *r
	p.Why = DidNotEnd
	p.Suites = make([]Suite, len(r.Suites))
	for i, s := range r.Suites {
		cases := make([]Case, len(s.Cases))
		for j, c := range s.Cases {
			cases[j] = Case{Name: c.Name, Variant: c.Variant, Line: c.Line, Verdict: NotRun, Why: DidNotEnd}
		}
		s.Cases = cases
		p.Suites[i] = s
	}
	p.Seal()
	return &p
}

// Folder returns the folder of the record; empty where there is none.
func (w *Writer) Folder() string { return w.folder }

// Case adds one finished case; suite and index are its place in the plan,
// counted from 0. When it returns the case is on the disk.
func (w *Writer) Case(suite, index int, c Case) error {
	c.Checks = append([]Check(nil), c.Checks...)
	c.seal()
	data, err := encode(line{Suite: suite, Index: index, Case: c})
	if err == nil {
		err = w.append(append(data, '\n'))
	}
	if err == nil || w.folder == "" {
		return nil
	}
	err = fmt.Errorf("record: case %q is not kept: %w", c.Name, err)
	w.mu.Lock()
	defer w.mu.Unlock()
	w.lost++
	w.err = cmp.Or(w.err, err)
	return err
}

// append adds a line to cases.jsonl. Syncing is left to the file system to
// order, so that lines of several goroutines share one.
func (w *Writer) append(text []byte) error {
	w.mu.Lock()
	cases := w.cases
	if cases == nil {
		w.mu.Unlock()
		return os.ErrClosed
	}
	if w.torn {
		text = append([]byte("\n"), text...)
	}
	n, err := cases.Write(text)
	w.casesSum.Write(text[:n])
	w.torn = err != nil
	w.mu.Unlock()
	if err != nil {
		return err
	}
	return cases.Sync()
}

// Finish seals r, writes it and closes the record, with digests of all its files at the end.
// wall and driving are in seconds. Where something cannot be written the rest is tried all
// the same. Its error says what of the record could not be kept since the run began, and where
// the rest is.
func (w *Writer) Finish(r *Result, wall, driving float64) error {
	r.Seal()
	if w.folder == "" {
		return nil
	}
	written := w.write(resultName, r.JSON())
	w.host.WallS, w.host.DrivingS, w.host.Missing = wall, driving, w.Missing()
	err := errors.Join(written, w.writeHost(w.host), w.Close())
	if written == nil {
		err = errors.Join(err, w.writeSums())
	}
	if err = cmp.Or(w.err, err); err == nil {
		return nil
	}
	return fmt.Errorf("the record in %s lacks %s: %s; make room, or name another place with --record DIR",
		w.folder, strings.Join(w.Missing(), ", "), strings.ReplaceAll(err.Error(), "\n", "; "))
}

// Dumps returns of how many cases the record keeps the wires.
func (w *Writer) Dumps() int { return w.dumps }

// Missing says what of the record could not be written, a phrase each: "wires/0-3.vcd.gz",
// "2 lines of cases.jsonl".
func (w *Writer) Missing() []string {
	w.mu.Lock()
	defer w.mu.Unlock()
	missing := slices.Sorted(maps.Keys(w.failed))
	if w.lost > 0 {
		missing = append(missing, fmt.Sprintf("%d lines of %s", w.lost, casesName))
	}
	return missing
}

// Tripped notes that the interlock ended the run, for [Writer.Finish] to write; why is empty
// where it did not.
func (w *Writer) Tripped(why string, at time.Time) {
	if why == "" {
		return
	}
	w.host.Trip = &Trip{Why: why, At: at.Format(time.RFC3339)}
}

// Found notes what an earlier run had left on the lines, for [Writer.Finish] to write.
func (w *Writer) Found(what string) { w.host.Found = what }

// Denied notes what the operating system did not grant, for [Writer.Finish] to write.
func (w *Writer) Denied(what []string) { w.host.Denied = what }

// InterlockStood notes for how long the interlock itself stood still at worst, for
// [Writer.Finish] to write.
func (w *Writer) InterlockStood(long time.Duration) {
	w.host.InterlockStoodMS = float64(long) / float64(time.Millisecond)
}

// Close closes the record. Without [Writer.Finish] before it, the record is
// that of a run which did not end.
func (w *Writer) Close() error {
	w.mu.Lock()
	defer w.mu.Unlock()
	if w.cases == nil {
		return nil
	}
	err := w.cases.Close()
	w.cases = nil
	if err != nil {
		w.failed[casesName] = true
	}
	return errors.Join(err, w.closeAlong())
}

// writeHost writes host.json anew.
func (w *Writer) writeHost(h Host) error {
	data, err := encode(h)
	if err != nil {
		return fmt.Errorf("record: host: %w", err)
	}
	return w.write(hostName, indented(data))
}

// write puts a file of the record on the disk whole or not at all, and keeps its digest.
func (w *Writer) write(name string, data []byte) error {
	if w.folder == "" {
		return nil
	}
	err := w.replace(name, data)
	w.mu.Lock()
	defer w.mu.Unlock()
	if err != nil {
		w.failed[filepath.ToSlash(name)] = true
		return err
	}
	delete(w.failed, filepath.ToSlash(name))
	w.sums[filepath.ToSlash(name)] = sumOf(data)
	return nil
}

// replace writes a file beside its place, then renames it.
func (w *Writer) replace(name string, data []byte) error {
	path := filepath.Join(w.folder, name)
	f, err := os.OpenFile(path+".part", os.O_CREATE|os.O_TRUNC|os.O_WRONLY, 0o600)
	if err != nil {
		return fmt.Errorf("record: %w", err)
	}
	_, err = f.Write(data)
	if err = cmp.Or(err, f.Sync(), f.Close()); err == nil {
		err = os.Rename(path+".part", path)
	}
	if err != nil {
		_ = os.Remove(path + ".part") // what there is of it takes room that the rest may need
		return fmt.Errorf("record: %w", err)
	}
	return syncFolder(w.folder)
}

// syncFolder puts the folder's entries on the disk.
func syncFolder(path string) error {
	d, err := os.Open(path)
	if err != nil {
		return fmt.Errorf("record: %w", err)
	}
	if err := cmp.Or(d.Sync(), d.Close()); err != nil {
		return fmt.Errorf("record: %w", err)
	}
	return nil
}
