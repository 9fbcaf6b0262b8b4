package campaign

import (
	"bytes"
	"cmp"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"reflect"
	"slices"

	"hilrig/rig/signal"
	"hilrig/suites"
	"hilrig/suites/language"
	"hilrig/suites/record"
)

// Split says which part of the faults is played, and by what program. The zero value is all of them.
type Split struct {
	Shard   suites.Shard
	Program string // version, so that parts of two versions are not taken as one
}

// Part is one of the parts that the faults were split into. The boards without a fault are played in each.
type Part struct {
	Number  int      `json:"number"`  // counted from 1
	Of      int      `json:"of"`      // how many parts there are
	Program string   `json:"program"` // version of the program that played it
	Inputs  string   `json:"inputs"`  // sha256 of all that was played: files, boards, seed
	All     []string `json:"all"`     // the faults of all parts, BOARD:FAULT in their order
	Digest  string   `json:"digest"`  // sha256 of the document with digest empty and no space between tokens
}

// share is which faults of a subject are played here.
type share []bool

func (s share) count() (n int) {
	for _, here := range s {
		if here {
			n++
		}
	}
	return n
}

// take notes which part this is, and returns which faults of each subject belong to it: those that take longest first, each to
// the part that has least so far. A fault counts with the suite that is played to it first.
func (a *Faults) take(subjects []Subject, split Split) ([]share, error) {
	here := make([]share, len(subjects))
	for i := range subjects {
		here[i] = slices.Repeat(share{true}, len(subjects[i].faults))
	}
	if split.Shard.Of == 0 {
		return here, nil
	}
	type one struct {
		subject, fault int
		length         signal.Time
	}
	var faults []one
	a.Part = &Part{Number: split.Shard.Number, Of: split.Shard.Of, Program: split.Program, Inputs: inputsOf(subjects)}
	for i := range subjects {
		s := &subjects[i]
		setup, err := suites.Load(s.healthy)
		if err != nil {
			return nil, err
		}
		for k := range s.faults {
			a.Part.All = append(a.Part.All, s.faults[k].title())
			length, err := s.firstLength(&s.faults[k], setup)
			if err != nil {
				return nil, err
			}
			faults = append(faults, one{i, k, length})
		}
	}
	slices.SortStableFunc(faults, func(x, y one) int { return cmp.Compare(y.length, x.length) })
	load := make([]signal.Time, split.Shard.Of)
	for _, f := range faults {
		least := slices.Index(load, slices.Min(load))
		load[least] += f.length
		here[f.subject][f.fault] = least+1 == split.Shard.Number
	}
	return here, nil
}

// title names a fault among those of all boards.
func (f *Seeded) title() string { return f.Board + ":" + f.Name }

// inputsOf returns a digest of what is played to the subjects.
func inputsOf(subjects []Subject) string {
	sum := sha256.New()
	for i := range subjects {
		s := &subjects[i]
		fmt.Fprintf(sum, "%q %d\n", s.healthy.Board, s.healthy.Seed)
		if c := s.healthy.Command; c != nil {
			fmt.Fprintf(sum, "%q\n", c.Text)
		}
		for _, file := range append([]language.Source{s.healthy.Car, s.healthy.Bench}, s.healthy.Suites...) {
			fmt.Fprintf(sum, "%q %s\n", suites.FileName(file.Path), file.Digest())
		}
		fmt.Fprintf(sum, "%q\n", fmt.Sprint(s.faults))
	}
	return hex.EncodeToString(sum.Sum(nil))
}

// seal sets the outcome, and of a part its digest.
func (a *Faults) seal() {
	a.Outcome = a.outcome()
	if a.Part == nil {
		return
	}
	if a.Tally(record.NotRun) == 0 {
		a.Outcome = record.PartEnded
	} else {
		a.Outcome = record.NotShown
	}
	a.Part.Digest = a.digest()
}

// digest returns the digest of a part.
func (a *Faults) digest() string {
	b, p := *a, *a.Part
	p.Digest, b.Part = "", &p
	data, err := json.Marshal(&b)
	if err != nil {
		panic(err) // it holds words and whole numbers alone
	}
	sum := sha256.Sum256(data)
	return hex.EncodeToString(sum[:])
}

// JoinFaults puts the parts together that the files at these paths hold, as hilrig faults --json writes them, in whatever order.
// A part that is missing, doubled, of other work, did not end or is not as it was written is an error with its file and the remedy.
func JoinFaults(paths []string, read func(path string) ([]byte, error)) (*Faults, error) {
	if len(paths) == 0 {
		return nil, errors.New("join: no part is named; name the files of the parts")
	}
	var first *Faults
	file := map[int]string{} // by the number of the part in it
	found := map[string]Fault{}
	for _, path := range paths {
		a, err := partIn(path, read)
		if err != nil {
			return nil, err
		}
		if first == nil {
			first = a
		}
		if other := apart(first, a); other != "" {
			return nil, fmt.Errorf("join: %s and %s are parts of different work: they differ in %s; join parts of one", paths[0], path, other)
		}
		if before, doubled := file[a.Part.Number]; doubled {
			return nil, fmt.Errorf("join: %s and %s are both part %d of %d; leave one out", before, path, a.Part.Number, a.Part.Of)
		}
		file[a.Part.Number] = path
		for _, f := range a.Faults {
			found[f.title()] = f
		}
	}
	for n := 1; n <= first.Part.Of; n++ {
		if file[n] == "" {
			return nil, fmt.Errorf("join: part %d of %d is missing; play it with --shard %d/%d, or name its file", n, first.Part.Of, n, first.Part.Of)
		}
	}
	whole := &Faults{Boards: first.Boards}
	for _, title := range first.Part.All {
		f, ok := found[title]
		if !ok {
			return nil, fmt.Errorf("join: no part has the fault %s; play all parts again", title)
		}
		whole.Faults = append(whole.Faults, f)
	}
	whole.seal()
	return whole, nil
}

// partIn reads a part.
func partIn(path string, read func(path string) ([]byte, error)) (*Faults, error) {
	data, err := read(path)
	if err != nil {
		return nil, fmt.Errorf("join: %w", err)
	}
	a := &Faults{}
	d := json.NewDecoder(bytes.NewReader(data))
	d.DisallowUnknownFields()
	switch err := d.Decode(a); {
	case err != nil:
		return nil, fmt.Errorf("join: %s is no part: %w; write it with hilrig faults --shard 2/8 --json", path, err)
	case a.Part == nil:
		return nil, fmt.Errorf("join: %s is no part but the whole; leave it out", path)
	case d.Decode(new(any)) != io.EOF || a.digest() != a.Part.Digest:
		return nil, fmt.Errorf("join: %s is not what its digest says; play this part again", path)
	case a.Outcome != record.PartEnded:
		return nil, fmt.Errorf("join: %s did not end; play part %d of %d again", path, a.Part.Number, a.Part.Of)
	}
	return a, nil
}

// apart says in what two parts are not of the same work; empty: in nothing.
func apart(a, b *Faults) string {
	switch p, q := a.Part, b.Part; {
	case p.Of != q.Of:
		return fmt.Sprintf("the number of parts, %d and %d", p.Of, q.Of)
	case p.Program != q.Program:
		return fmt.Sprintf("the version of hilrig, %s and %s", p.Program, q.Program)
	case p.Inputs != q.Inputs || !slices.Equal(p.All, q.All):
		return "files, boards or seed"
	case !reflect.DeepEqual(a.Boards, b.Boards):
		return "what the boards without a fault came to"
	}
	return ""
}
