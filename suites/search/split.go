package search

import (
	"cmp"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"slices"

	"hilrig/suites"
	"hilrig/suites/language"
	"hilrig/suites/parts"
)

// Part is one of the parts that a search was split into.
type Part struct {
	parts.Head
	Most   int     `json:"most"`   // after how many findings it ends
	Rounds []Round `json:"rounds"` // what its lines came to in each round
}

// part returns the part that is played here.
func (s *searcher) part() *Part {
	o := &s.options
	return &Part{Head: o.Split.Head(s.inputs()), Most: o.most(), Rounds: []Round{}}
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

// Head returns what a part says of itself, nil for the whole.
func (r *Result) Head() *parts.Head {
	if r.Part == nil {
		return nil
	}
	return &r.Part.Head
}

// Ended returns how the search ended.
func (r *Result) Ended() string { return r.Outcome }

// Join puts the parts together that the files at these paths hold, as hilrig search --json writes them, in whatever order, to
// what one machine comes to. What [parts.Read] refuses is an error.
func Join(paths []string, read func(path string) ([]byte, error)) (*Result, error) {
	all, err := parts.Read(paths, read, "hilrig search", func(a, b *Result) string {
		if a.Seed != b.Seed || a.Part.Most != b.Part.Most {
			return "the seed or where the search ends"
		}
		return ""
	})
	if err != nil {
		return nil, err
	}
	return joined(all), nil
}

// joined puts parts together. One machine ends after the round in which it has seen enough checks fail, and looks at the
// first of each; a part, which has seen fewer, goes on.
func joined(all []*Result) *Result {
	type seen struct {
		Finding
		again bool
	}
	var found []seen
	for _, r := range all {
		for _, f := range r.Found {
			found = append(found, seen{f, true})
		}
		for _, f := range r.NotAgain {
			found = append(found, seen{f, false})
		}
	}
	slices.SortFunc(found, func(a, b seen) int { return cmp.Compare(a.Drive, b.Drive) })
	known := map[string]bool{}
	found = slices.DeleteFunc(found, func(f seen) bool {
		twice := known[f.Check]
		known[f.Check] = true
		return twice
	})
	whole := &Result{Seed: all[0].Seed, Flags: all[0].Flags, Found: []Finding{}, NotAgain: []Finding{}}
	rounds := 0
	for _, r := range all {
		rounds = max(rounds, len(r.Part.Rounds))
	}
	if most := all[0].Part.Most; len(found) >= most {
		found = found[:most]
		rounds = found[most-1].Round + 1
	}
	for _, r := range all {
		for _, x := range r.Part.Rounds[:min(rounds, len(r.Part.Rounds))] {
			whole.add(x)
		}
	}
	for _, f := range found {
		if f.again {
			whole.Found = append(whole.Found, f.Finding)
		} else {
			whole.NotAgain = append(whole.NotAgain, f.Finding)
		}
	}
	whole.seal()
	return whole
}
