package campaign

import (
	"cmp"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"reflect"
	"slices"

	"hilrig/rig/signal"
	"hilrig/suites"
	"hilrig/suites/language"
	"hilrig/suites/parts"
	"hilrig/suites/record"
)

// Part is one of the parts that the faults were split into. The boards without a fault are played in each.
type Part struct {
	parts.Head
	All []string `json:"all"` // the faults of all parts, BOARD:FAULT in their order
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
func (a *Faults) take(subjects []Subject, split parts.Split) ([]share, error) {
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
	a.Part = &Part{Head: split.Head(inputsOf(subjects))}
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
	parts.Seal(a)
}

// Head returns what a part says of itself, nil for the whole.
func (a *Faults) Head() *parts.Head {
	if a.Part == nil {
		return nil
	}
	return &a.Part.Head
}

// Ended returns how the campaign ended.
func (a *Faults) Ended() string { return a.Outcome }

// JoinFaults puts the parts together that the files at these paths hold, as hilrig faults --json writes them, in whatever order.
// What [parts.Read] refuses is an error, and so are parts that lack a fault or whose boards without a fault came to something else.
func JoinFaults(paths []string, read func(path string) ([]byte, error)) (*Faults, error) {
	all, err := parts.Read(paths, read, "hilrig faults", func(a, b *Faults) string {
		switch {
		case !slices.Equal(a.Part.All, b.Part.All):
			return "the faults that are seeded"
		case !reflect.DeepEqual(a.Boards, b.Boards):
			return "what the boards without a fault came to"
		}
		return ""
	})
	if err != nil {
		return nil, err
	}
	found := map[string]Fault{}
	for _, part := range all {
		for _, f := range part.Faults {
			found[f.title()] = f
		}
	}
	whole := &Faults{Boards: all[0].Boards}
	for _, title := range all[0].Part.All {
		f, ok := found[title]
		if !ok {
			return nil, fmt.Errorf("join: no part has the fault %s; play all parts again", title)
		}
		whole.Faults = append(whole.Faults, f)
	}
	whole.seal()
	return whole, nil
}
