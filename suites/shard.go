package suites

import (
	"cmp"
	"errors"
	"fmt"
	"slices"

	"hilrig/rig/signal"
	"hilrig/suites/parts"
	"hilrig/suites/record"
)

// Split has Run play one part of what it would play with these options, and leave the rest to other machines. A suite is
// never split, for its cases meet one board that is powered up once. The signs of life are played in each part: they show
// that its board answers, and measure what others are fitted to. The split depends on files and options alone. A bench in
// real time is an error, for each machine would have a board of its own.
func (s *Setup) Split(o Options, shard parts.Shard) error {
	if s.real != nil {
		return errors.New("--shard splits a run on a simulated bench; in real time each machine has another board: leave it out, or name the suites for each")
	}
	if s.Planned(o) == 0 {
		return s.nothingToRun(&o)
	}
	s.shard, s.only = shard, o.Only
	s.elsewhere = map[string]int{}
	for path, part := range s.partsBySuite(o, shard.Of) {
		if part != shard.Number {
			s.elsewhere[path] = part
		}
	}
	return nil
}

// partsBySuite gives each suite, by its file, one of so many parts: the longest first, each to the part that has least so far.
func (s *Setup) partsBySuite(o Options, parts int) map[string]int {
	lengths := map[string]signal.Time{}
	var paths []string
	for _, suite := range s.Suites {
		if suite == s.life {
			continue
		}
		path := suite.Source.Path
		if _, known := lengths[path]; !known {
			paths = append(paths, path)
		}
		for _, l := range s.lengths(suite, o) {
			lengths[path] += l
		}
	}
	slices.SortStableFunc(paths, func(a, b string) int { return cmp.Compare(lengths[b], lengths[a]) })
	load := make([]signal.Time, parts)
	of := map[string]int{}
	for _, path := range paths {
		least := slices.Index(load, slices.Min(load))
		load[least] += lengths[path]
		of[path] = least + 1
	}
	return of
}

// part returns what a result says of the part that it is of; nil where it is of the whole.
func (s *Setup) part() *record.Part {
	if s.shard.Of == 0 {
		return nil
	}
	p := &record.Part{Number: s.shard.Number, Of: s.shard.Of, Only: s.only}
	for _, suite := range s.Suites {
		if path := suite.Source.Path; s.elsewhere[path] > 0 && !slices.Contains(p.Left, nameOf(&suite.Source)) {
			p.Left = append(p.Left, nameOf(&suite.Source))
		}
	}
	return p
}

// leave notes of a suite that is left to another part, and says whether it is.
func (r *run) leave(index int) bool {
	part := r.setup.elsewhere[r.setup.Suites[index].Source.Path]
	if part == 0 {
		return false
	}
	out := r.result.Suites[index].Cases
	for i := range out {
		out[i].Verdict, out[i].Why = record.Skipped, fmt.Sprintf("left to part %d of %d", part, r.setup.shard.Of)
	}
	return true
}
