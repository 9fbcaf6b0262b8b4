package record

import (
	"bytes"
	"cmp"
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
	Notes  []string // what could not be read or is not as it was written, a sentence each
}

// Wrong says why the record is no evidence that its run came to an end and is kept as it
// was then, a sentence for each reason; nothing where it is. The outcome of a record with
// something wrong is NOT SHOWN.
func (r *Record) Wrong() []string {
	if r.Ended || len(r.Notes) > 0 {
		return r.Notes
	}
	return []string{DidNotEnd}
}

// Read reads the record in folder. Where the run did not end, or result.json is
// not what its digest says, the result is rebuilt from the plan and the cases
// that were kept; its outcome is then NOT SHOWN, as it is where any file of the record is
// not as it was written. An error means that not even the plan can be read, that the
// folder holds something else, or a record of a newer form.
func Read(folder string) (*Record, error) {
	if info, err := os.Stat(folder); err != nil {
		return nil, fmt.Errorf("record: %w", err)
	} else if !info.IsDir() {
		return nil, fmt.Errorf("record: %s is no folder; name the folder of one run", folder)
	}
	data := map[string][]byte{}
	for _, name := range []string{planName, casesName, hostName, resultName} {
		b, err := readFile(filepath.Join(folder, name))
		if err != nil && !errors.Is(err, fs.ErrNotExist) {
			return nil, fmt.Errorf("record: %w", err)
		}
		data[name] = b
	}
	r, err := rebuild(data[planName], data[casesName], data[hostName], data[resultName])
	if err != nil {
		return nil, fmt.Errorf("record %s: %w", folder, err)
	}
	r.Folder = folder
	r.Result.Label = cmp.Or(r.Result.Label, r.Host.Label)
	if r.Ended || exists(filepath.Join(folder, sumsName)) {
		r.Notes = append(r.Notes, verify(folder, data)...)
	}
	r.withdrawOutcome()
	return r, nil
}

// exists says whether there is anything at path.
func exists(path string) bool {
	_, err := os.Lstat(path)
	return err == nil
}

// withdrawOutcome takes the outcome away from a record that ended and is not as it was written, and
// from every record with something wrong what its texts could do to a terminal.
func (r *Record) withdrawOutcome() {
	if len(r.Wrong()) == 0 {
		return
	}
	if r.Ended {
		r.Result.Why = r.Notes[0]
	}
	r.plain()
	r.Result.Seal()
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
		if err == nil && intact(result, whole.Digest) && whole.follows(result) {
			r.Result, r.Ended = whole, true
			r.withdrawOutcome()
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
	var version, own int
	if n, _ := fmt.Sscanf(r.Format, formats, &version); n != 1 {
		return nil, fmt.Errorf("this is no record of hilrig: its format is %q, not %s; name the folder of one run", r.Format, Format)
	}
	_, _ = fmt.Sscanf(Format, formats, &own) // Format is made like that
	switch {
	case version > own:
		return nil, fmt.Errorf("format %s is newer than %s, the newest that this hilrig knows; read it with the hilrig that wrote it", r.Format, Format)
	case r.Format != Format:
		return nil, fmt.Errorf("format %s is not %s; read it with the hilrig that wrote it", r.Format, Format)
	}
	return r, nil
}

// follows says whether outcome and counts are those that the checks in data, the result's
// bytes, come to.
func (r *Result) follows(data []byte) bool {
	again, err := decode(data)
	if err != nil {
		return false
	}
	again.Seal()
	return again.Outcome == r.Outcome && again.Counts == r.Counts
}

// fill puts the cases that were kept in their places. A torn last line is what
// a crash leaves behind and needs no note.
func (r *Record) fill(data []byte) {
	recorded := map[*Case]bool{}
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
		place := r.Result.at(l.Suite, l.Index)
		switch {
		case place == nil:
			r.note("line %d of %s is of case %d in suite %d, which is not in the plan", n+1, casesName, l.Index, l.Suite)
		case recorded[place]:
			r.note("line %d of %s is of case %d in suite %d, which was kept before", n+1, casesName, l.Index, l.Suite)
		case l.Case.Name != place.Name || l.Case.Variant != place.Variant:
			r.note("line %d of %s is not of case %d in suite %d as planned", n+1, casesName, l.Index, l.Suite)
		default:
			*place = l.Case
			recorded[place] = true
		}
	}
}

// at returns the case at a place in the plan, or nil where there is none.
func (r *Result) at(suite, index int) *Case {
	if suite < 0 || suite >= len(r.Suites) || index < 0 || index >= len(r.Suites[suite].Cases) {
		return nil
	}
	return &r.Suites[suite].Cases[index]
}

// note keeps a sentence on what could not be read.
func (r *Record) note(format string, args ...any) {
	r.Notes = append(r.Notes, fmt.Sprintf(format, args...))
}
