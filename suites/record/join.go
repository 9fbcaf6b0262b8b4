package record

import (
	"bytes"
	"errors"
	"fmt"
	"io/fs"
	"path/filepath"
	"slices"
	"strings"
)

// Joined is a run that was put together from its parts.
type Joined struct {
	Result   *Result // sealed, of the whole
	Inputs   []Input // that all parts played
	WallS    float64 // of the part that took longest
	DrivingS float64 // of all parts
	parts    []*Record
}

// mostDeep is how many folders below the one that is named a record is looked for.
const mostDeep = 4

// PartsIn reads the records in these folders: each is a record itself, or has records below it. A folder with none is an
// error.
func PartsIn(folders []string) (parts []*Record, err error) {
	for _, folder := range folders {
		found, err := below(folder)
		if err != nil {
			return nil, fmt.Errorf("join: %w; name the folders of the parts", err)
		}
		if len(found) == 0 {
			return nil, fmt.Errorf("join: %s has no record in it; name the folder of a part, or one that holds parts", folder)
		}
		for _, path := range found {
			r, err := Read(path)
			if err != nil {
				return nil, fmt.Errorf("join: %w", err)
			}
			parts = append(parts, r)
		}
	}
	return parts, nil
}

// below lists the folders of records at and below a folder.
func below(folder string) (found []string, err error) {
	err = filepath.WalkDir(folder, func(path string, d fs.DirEntry, err error) error {
		switch {
		case err != nil:
			return err
		case !d.IsDir():
			return nil
		case exists(filepath.Join(path, planName)) || exists(filepath.Join(path, resultName)):
			found = append(found, path)
			return fs.SkipDir
		case strings.Count(strings.TrimPrefix(path, folder), string(filepath.Separator)) >= mostDeep:
			return fs.SkipDir
		}
		return nil
	})
	return found, err
}

// Join puts the parts of a run together, in whatever order they come. The result is that of the run on one machine, but for
// what faults it looks like. A part that is missing, doubled, of another run, did not end or is not as it was written is an
// error that names its folder and the remedy.
func Join(parts []*Record) (*Joined, error) {
	if len(parts) == 0 {
		return nil, errors.New("join: no part is named; name the folders of the parts")
	}
	var wrong []error
	for _, p := range parts {
		wrong = append(wrong, p.joinable())
	}
	if err := errors.Join(wrong...); err != nil {
		return nil, err
	}
	parts = slices.Clone(parts)
	slices.SortStableFunc(parts, func(a, b *Record) int { return a.Result.Part.Number - b.Result.Part.Number })
	j := &Joined{parts: parts}
	var err error
	if j.Inputs, err = sameRun(parts); err != nil {
		return nil, err
	}
	if err := complete(parts); err != nil {
		return nil, err
	}
	return j, j.fill()
}

// joinable says by its error why a record is no part that can be joined.
func (r *Record) joinable() error {
	switch wrong := r.Wrong(); {
	case len(wrong) > 0:
		return fmt.Errorf("join: %s: %s; play this part again", r.Folder, wrong[0])
	case r.Result.Part == nil:
		return fmt.Errorf("join: %s is of no run that --shard split (%s); leave it out", r.Folder, r.Result.Outcome)
	case r.Result.Why != "":
		return fmt.Errorf("join: %s is part %d of %d, and %s; play it again", r.Folder, r.Result.Part.Number, r.Result.Part.Of, r.Result.Why)
	}
	return nil
}

// sameRun returns the files that all parts played, or an error that says what of a part is of another run.
func sameRun(parts []*Record) (first []Input, err error) {
	for i, p := range parts {
		in, err := Inputs(p.Folder)
		if err != nil {
			return nil, fmt.Errorf("join: %w", err)
		}
		if i == 0 {
			first = in
			continue
		}
		if other := differ(parts[0], p, first, in); other != "" {
			return nil, fmt.Errorf("join: %s and %s are parts of different runs: %s; join parts of one run", parts[0].Folder, p.Folder, other)
		}
	}
	return first, nil
}

// differ says in what two parts, which played these files, are not of one run; empty: in nothing.
func differ(a, b *Record, of, in []Input) string {
	x, y := a.Result, b.Result
	for _, k := range []struct {
		name string
		a, b any
	}{
		{"the version of hilrig", a.Host.Program, b.Host.Program},
		{"the number of parts", x.Part.Of, y.Part.Of},
		{"the seed", x.Seed, y.Seed},
		{"the car", x.Car, y.Car},
		{"the bench", x.Bench, y.Bench},
		{"the board", x.Board.Name, y.Board.Name},
		{"the firmware", x.Firmware, y.Firmware},
		{"the label", x.Label, y.Label},
		{"--fresh", x.Fresh, y.Fresh},
		{"--only", x.Part.Only, y.Part.Only},
	} {
		if k.a != k.b {
			return fmt.Sprintf("%s is %v in one and %v in the other", k.name, k.a, k.b)
		}
	}
	same := slices.EqualFunc(of, in, func(a, b Input) bool {
		return a.Role == b.Role && filepath.Base(a.Path) == filepath.Base(b.Path) && bytes.Equal(a.Data, b.Data)
	})
	if !same || !bytes.Equal(x.frame(), y.frame()) {
		return "they did not play the same suites"
	}
	return ""
}

// frame returns what is the same of all parts of a run.
func (r *Result) frame() []byte {
	f := planned(r)
	f.Part, f.Rests, f.KeysAsked, f.Digest = nil, "", 0, ""
	f.LooksLike = nil
	for i := range f.Suites {
		f.Suites[i].Timing = nil
	}
	f.Seal()
	return f.compact()
}

// complete says by its error which parts are missing or there more than once.
func complete(parts []*Record) error {
	of := parts[0].Result.Part.Of
	there := map[int]*Record{}
	for _, p := range parts {
		n := p.Result.Part.Number
		if before := there[n]; before != nil {
			return fmt.Errorf("join: %s and %s are both part %d of %d; leave one out", before.Folder, p.Folder, n, of)
		}
		if n < 1 || n > of {
			return fmt.Errorf("join: %s is part %d of %d, which there is not; play it again", p.Folder, n, of)
		}
		there[n] = p
	}
	for n := 1; n <= of; n++ {
		if there[n] == nil {
			return fmt.Errorf("join: part %d of %d is missing; play it with --shard %d/%d, or name its folder", n, of, n, of)
		}
	}
	return nil
}

// fill makes the result of the whole. What every part played counts once, and has to be the same in all.
func (j *Joined) fill() error {
	whole := *j.parts[0].Result
	whole.Suites = slices.Clone(whole.Suites)
	whole.Part, whole.Rests = nil, ""
	asked := map[string]bool{}
	for _, p := range j.parts {
		j.WallS = max(j.WallS, p.Host.WallS)
		j.DrivingS += p.Host.DrivingS
		if p.Result.Rests != "" {
			whole.Rests = p.Result.Rests
		}
		for _, k := range p.Result.Part.Asked {
			asked[k] = true
		}
	}
	whole.KeysAsked = len(asked)
	for i := range whole.Suites {
		played := j.played(i)
		if len(played) != 1 && len(played) != len(j.parts) {
			return fmt.Errorf("join: suite %s was played in %d of %d parts and belongs into one; play all parts again", whole.Suites[i].Name, len(played), len(j.parts))
		}
		whole.Suites[i] = played[0].Result.Suites[i]
		for _, p := range played[1:] {
			if !sameSuite(&played[0].Result.Suites[i], &p.Result.Suites[i]) {
				return fmt.Errorf("join: %s came out differently in %s and in %s: board or machine do not do the same twice; play the run on one machine",
					whole.Suites[i].Name, played[0].Folder, p.Folder)
			}
		}
	}
	whole.Seal()
	j.Result = &whole
	return nil
}

// sameSuite says whether a suite came out the same in two parts.
func sameSuite(a, b *Suite) bool {
	x, errX := encode(a)
	y, errY := encode(b)
	return errX == nil && errY == nil && bytes.Equal(x, y)
}

// played returns the parts that a suite was not left out of.
func (j *Joined) played(suite int) (in []*Record) {
	for _, p := range j.parts {
		if !slices.Contains(p.Result.Part.Left, p.Result.Suites[suite].File) {
			in = append(in, p)
		}
	}
	return in
}

// mostForm is how many bytes of another form are taken over from a part.
const mostForm = 1 << 26

// Keep puts into a record what the parts kept of their cases, each case once, and their other forms.
func (j *Joined) Keep(w *Writer) error {
	var failed error
	for i := range j.Result.Suites {
		for k, c := range j.Result.Suites[i].Cases {
			if c.Trace != "" {
				failed = errors.Join(failed, w.Case(i, k, c))
			}
			switch all, err := Moments(j.played(i)[0].Folder, i, k); {
			case err == nil:
				w.Moments(i, k, all)
			case !errors.Is(err, fs.ErrNotExist):
				failed = errors.Join(failed, err)
			}
		}
	}
	for _, p := range j.parts {
		err := Alongs(p.Folder, func(suite, index int, a *Along) {
			if suite >= 0 && suite < len(j.Result.Suites) && j.played(suite)[0] == p {
				w.Along(suite, index, a)
			}
		})
		if err != nil && !errors.Is(err, fs.ErrNotExist) {
			failed = errors.Join(failed, err)
		}
		for _, name := range Forms(p.Folder) {
			data, err := ReadForm(p.Folder, name, mostForm)
			if err == nil {
				err = w.Form(name, data)
			}
			failed = errors.Join(failed, err)
		}
	}
	return failed
}
