package record

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
)

// Record is a record as it was read.
type Record struct {
	Folder string
	Result *Result  // sealed, in plan order
	Host   Host     // zero where host.json is missing or broken
	Ended  bool     // whether the run ended and its result is as it was written
	Notes  []string // what could not be read, a sentence each
}

// Read reads the record in folder. Where the run did not end, or result.json is
// not what its digest says, the result is rebuilt from the plan and the cases
// that were kept; its outcome is then NOT SHOWN. An error means that not even
// the plan can be read.
func Read(folder string) (*Record, error) {
	var data [4][]byte
	for i, name := range []string{planName, casesName, hostName, resultName} {
		b, err := os.ReadFile(filepath.Join(folder, name))
		if err != nil && !errors.Is(err, fs.ErrNotExist) {
			return nil, fmt.Errorf("record: %w", err)
		}
		data[i] = b
	}
	r, err := rebuild(data[0], data[1], data[2], data[3])
	if err != nil {
		return nil, fmt.Errorf("record %s: %w", folder, err)
	}
	r.Folder = folder
	return r, nil
}

// rebuild makes a record of the contents of its four files; nil stands for a
// missing one.
func rebuild(plan, cases, host, result []byte) (*Record, error) {
	r := &Record{}
	if host != nil && json.Unmarshal(host, &r.Host) != nil {
		r.Host = Host{}
		r.note("%s cannot be read", hostName)
	}
	if result != nil {
		whole, err := decode(result)
		if err == nil && intact(result, whole.Digest) {
			r.Result, r.Ended = whole, true
			return r, nil
		}
		r.note("%s is not what its digest says; the result is rebuilt from %s", resultName, casesName)
	}
	if plan == nil {
		return nil, fmt.Errorf("there is no %s; name the folder of one run", planName)
	}
	whole, err := decode(plan)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", planName, err)
	}
	r.Result = planned(whole)
	if result != nil {
		r.Result.Why = resultName + " is not what its digest says"
	}
	r.fill(cases)
	r.Result.Seal()
	return r, nil
}

// decode reads a result of this format.
func decode(data []byte) (*Result, error) {
	r := &Result{}
	if err := json.Unmarshal(data, r); err != nil {
		return nil, err
	}
	if r.Format != Format {
		return nil, fmt.Errorf("format %q is not %s; read it with the hilrig that wrote it", r.Format, Format)
	}
	return r, nil
}

// fill puts the cases that were kept in their places. A torn last line is what
// a crash leaves behind and needs no note.
func (r *Record) fill(data []byte) {
	places := r.Result.places()
	kept := make([]bool, len(places))
	lines := bytes.Split(data, []byte("\n"))
	for n, text := range lines {
		if len(text) == 0 {
			continue
		}
		var l line
		if err := json.Unmarshal(text, &l); err != nil {
			if n < len(lines)-1 {
				r.note("line %d of %s cannot be read", n+1, casesName)
			}
			continue
		}
		switch {
		case l.Index < 0 || l.Index >= len(places):
			r.note("line %d of %s is of case %d, which is not in the plan", n+1, casesName, l.Index)
		case kept[l.Index]:
			r.note("line %d of %s is of case %d, which was kept before", n+1, casesName, l.Index)
		case l.Case.Name != places[l.Index].Name || l.Case.Variant != places[l.Index].Variant:
			r.note("line %d of %s is not of case %d as planned", n+1, casesName, l.Index)
		default:
			*places[l.Index] = l.Case
			kept[l.Index] = true
		}
	}
}

// places returns the cases of all suites in plan order.
func (r *Result) places() []*Case {
	var places []*Case
	for i := range r.Suites {
		for j := range r.Suites[i].Cases {
			places = append(places, &r.Suites[i].Cases[j])
		}
	}
	return places
}

// note keeps a sentence on what could not be read.
func (r *Record) note(format string, args ...any) {
	r.Notes = append(r.Notes, fmt.Sprintf(format, args...))
}
