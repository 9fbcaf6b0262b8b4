package record

import (
	"bytes"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
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

// line is one line of cases.jsonl.
type line struct {
	Suite int  `json:"suite"` // its place in the plan, counted from 0
	Index int  `json:"index"` // the case's place in its suite, counted from 0
	Case  Case `json:"case"`
}

// Writer writes one record as its run goes. Its methods may be called from
// several goroutines.
type Writer struct {
	folder string
	host   Host

	mu    sync.Mutex // guards what follows
	cases *os.File   // nil once closed
	torn  bool       // the last line may lack its end
}

// Create makes a new folder for a record under home and writes the plan into
// it: the result with all its cases, none of them run. Whatever verdicts plan
// holds are left out; plan itself is not changed. began gives the folder its name.
func Create(home string, plan *Result, host Host, began time.Time) (*Writer, error) {
	folder, err := newFolder(home, began)
	if err != nil {
		return nil, err
	}
	host.Began = began.Format(time.RFC3339)
	w := &Writer{folder: folder, host: host}
	if err := w.write(planName, planned(plan).JSON()); err != nil {
		return nil, err
	}
	if err := w.writeHost(host); err != nil {
		return nil, err
	}
	w.cases, err = os.OpenFile(filepath.Join(folder, casesName), os.O_CREATE|os.O_EXCL|os.O_WRONLY, 0o600)
	if err != nil {
		return nil, fmt.Errorf("record: %w", err)
	}
	return w, syncFolder(folder)
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

// Folder returns the folder of the record.
func (w *Writer) Folder() string { return w.folder }

// Case adds one finished case; suite and index are its place in the plan,
// counted from 0. When it returns the case is on the disk.
func (w *Writer) Case(suite, index int, c Case) error {
	c.Checks = append([]Check(nil), c.Checks...)
	c.seal()
	data, err := encode(line{Suite: suite, Index: index, Case: c})
	if err != nil {
		return fmt.Errorf("record: case %q: %w", c.Name, err)
	}
	if err := w.append(append(data, '\n')); err != nil {
		return fmt.Errorf("record: case %q is not kept: %w", c.Name, err)
	}
	return nil
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
	_, err := cases.Write(text)
	w.torn = err != nil
	w.mu.Unlock()
	if err != nil {
		return err
	}
	return cases.Sync()
}

// Finish seals r, writes it and closes the record. wall and driving are in seconds.
func (w *Writer) Finish(r *Result, wall, driving float64) error {
	r.Seal()
	w.host.WallS, w.host.DrivingS = wall, driving
	err := w.writeHost(w.host)
	if err == nil {
		err = w.write(resultName, r.JSON())
	}
	if closed := w.Close(); err == nil {
		err = closed
	}
	return err
}

// Tripped notes that the interlock ended the run, for [Writer.Finish] to write.
func (w *Writer) Tripped(why string, at time.Time) {
	w.host.Trip = &Trip{Why: why, At: at.Format(time.RFC3339)}
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
	return err
}

// writeHost writes host.json anew.
func (w *Writer) writeHost(h Host) error {
	data, err := encode(h)
	if err != nil {
		return fmt.Errorf("record: host: %w", err)
	}
	var b bytes.Buffer
	if err := json.Indent(&b, data, "", "  "); err != nil {
		return fmt.Errorf("record: host: %w", err)
	}
	b.WriteByte('\n')
	return w.write(hostName, b.Bytes())
}

// write puts a file of the record on the disk whole or not at all: written
// beside its place, then renamed.
func (w *Writer) write(name string, data []byte) error {
	path := filepath.Join(w.folder, name)
	f, err := os.OpenFile(path+".part", os.O_CREATE|os.O_TRUNC|os.O_WRONLY, 0o600)
	if err != nil {
		return fmt.Errorf("record: %w", err)
	}
	_, err = f.Write(data)
	if err == nil {
		err = f.Sync()
	}
	if closed := f.Close(); err == nil {
		err = closed
	}
	if err == nil {
		err = os.Rename(path+".part", path)
	}
	if err != nil {
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
	defer d.Close()
	if err := d.Sync(); err != nil {
		return fmt.Errorf("record: %w", err)
	}
	return nil
}
