package search

import (
	"bytes"
	"cmp"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"slices"

	"hilrig/suites"
	"hilrig/suites/language"
	"hilrig/suites/record"
)

// Split says which of the lines of a search are played, and by what program. The zero value is all of them.
type Split struct {
	Shard   suites.Shard
	Program string // version, so that parts of two versions are not taken as one
}

// Part is one of the parts that a search was split into.
type Part struct {
	Number  int     `json:"number"`  // counted from 1
	Of      int     `json:"of"`      // how many parts there are
	Program string  `json:"program"` // version of the program that played it
	Inputs  string  `json:"inputs"`  // sha256 of all that was played to and of where the search ends: files, board, seed, drives
	Most    int     `json:"most"`    // after how many findings it ends
	Rounds  []Round `json:"rounds"`  // what its lines came to in each round
	Digest  string  `json:"digest"`  // sha256 of the document with digest empty and no space between tokens
}

// part returns the part that is played here.
func (s *searcher) part() *Part {
	o := &s.options
	return &Part{Number: o.Split.Shard.Number, Of: o.Split.Shard.Of, Program: o.Split.Program, Inputs: s.inputs(), Most: o.most(), Rounds: []Round{}}
}

// inputs returns a digest of what is searched and for how long.
func (s *searcher) inputs() string {
	sum := sha256.New()
	fmt.Fprintf(sum, "%q %d %d %d %d\n", s.setup.Board, s.setup.Seed, s.options.Drives, s.options.For, s.options.Tries)
	for _, file := range []language.Source{s.setup.Car.Source, s.setup.Bench.Source} {
		fmt.Fprintf(sum, "%q %s\n", suites.FileName(file.Path), file.Digest())
	}
	return hex.EncodeToString(sum.Sum(nil))
}

// digest returns the digest of a part.
func (r *Result) digest() string {
	b, p := *r, *r.Part
	p.Digest, b.Part = "", &p
	data, err := json.Marshal(&b)
	if err != nil {
		panic(err) // it holds words and whole numbers alone
	}
	sum := sha256.Sum256(data)
	return hex.EncodeToString(sum[:])
}

// Join puts the parts together that the files at these paths hold, as hilrig search --json writes them, in whatever order, to
// what one machine comes to. A part that is missing, doubled, of other work, did not end or is not as it was written is an
// error with its file and the remedy.
func Join(paths []string, read func(path string) ([]byte, error)) (*Result, error) {
	if len(paths) == 0 {
		return nil, errors.New("join: no part is named; name the files of the parts")
	}
	var parts []*Result
	file := map[int]string{} // by the number of the part in it
	for _, path := range paths {
		r, err := partIn(path, read)
		if err != nil {
			return nil, err
		}
		if len(parts) > 0 && !sameWork(parts[0], r) {
			return nil, fmt.Errorf("join: %s and %s are parts of different work: files, board, seed, end or program differ; join parts of one", paths[0], path)
		}
		if before, doubled := file[r.Part.Number]; doubled {
			return nil, fmt.Errorf("join: %s and %s are both part %d of %d; leave one out", before, path, r.Part.Number, r.Part.Of)
		}
		file[r.Part.Number] = path
		parts = append(parts, r)
	}
	for n := 1; n <= parts[0].Part.Of; n++ {
		if file[n] == "" {
			return nil, fmt.Errorf("join: part %d of %d is missing; play it with --shard %d/%d, or name its file", n, parts[0].Part.Of, n, parts[0].Part.Of)
		}
	}
	return joined(parts), nil
}

// partIn reads a part.
func partIn(path string, read func(path string) ([]byte, error)) (*Result, error) {
	data, err := read(path)
	if err != nil {
		return nil, fmt.Errorf("join: %w", err)
	}
	r := &Result{}
	d := json.NewDecoder(bytes.NewReader(data))
	d.DisallowUnknownFields()
	switch err := d.Decode(r); {
	case err != nil:
		return nil, fmt.Errorf("join: %s is no part: %w; write it with hilrig search --shard 2/8 --json", path, err)
	case r.Part == nil:
		return nil, fmt.Errorf("join: %s is no part but the whole; leave it out", path)
	case d.Decode(new(any)) != io.EOF || r.digest() != r.Part.Digest:
		return nil, fmt.Errorf("join: %s is not what its digest says; play this part again", path)
	case r.Outcome != record.PartEnded:
		return nil, fmt.Errorf("join: %s did not end; play part %d of %d again", path, r.Part.Number, r.Part.Of)
	}
	return r, nil
}

// sameWork says whether two are parts of one search.
func sameWork(a, b *Result) bool {
	x, y := a.Part, b.Part
	return a.Seed == b.Seed && x.Of == y.Of && x.Program == y.Program && x.Inputs == y.Inputs && x.Most == y.Most
}

// joined puts parts together. One machine ends after the round in which it has seen enough checks fail, and looks at the
// first of each; a part, which has seen fewer, goes on.
func joined(parts []*Result) *Result {
	type seen struct {
		Finding
		again bool
	}
	var all []seen
	for _, r := range parts {
		for _, f := range r.Found {
			all = append(all, seen{f, true})
		}
		for _, f := range r.NotAgain {
			all = append(all, seen{f, false})
		}
	}
	slices.SortFunc(all, func(a, b seen) int { return cmp.Compare(a.Drive, b.Drive) })
	known := map[string]bool{}
	all = slices.DeleteFunc(all, func(f seen) bool {
		twice := known[f.Check]
		known[f.Check] = true
		return twice
	})
	whole := &Result{Seed: parts[0].Seed, Flags: parts[0].Flags, Found: []Finding{}, NotAgain: []Finding{}}
	rounds := 0
	for _, r := range parts {
		rounds = max(rounds, len(r.Part.Rounds))
	}
	if most := parts[0].Part.Most; len(all) >= most {
		all = all[:most]
		rounds = all[most-1].Round + 1
	}
	for _, r := range parts {
		for _, x := range r.Part.Rounds[:min(rounds, len(r.Part.Rounds))] {
			whole.add(x)
		}
	}
	for _, f := range all {
		if f.again {
			whole.Found = append(whole.Found, f.Finding)
		} else {
			whole.NotAgain = append(whole.NotAgain, f.Finding)
		}
	}
	whole.seal()
	return whole
}
