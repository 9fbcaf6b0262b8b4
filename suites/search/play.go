package search

import (
	"context"
	"fmt"
	"runtime"

	"hilrig/assertions"
	"hilrig/suites"
	"hilrig/suites/language"
	"hilrig/suites/record"
)

// outcome is what came of playing a drive once.
type outcome struct {
	played  bool
	judged  bool // something that the policy says was found kept or broken
	fails   []record.Check
	reached []uint64 // what the values came to; see reachedIn
}

// failing returns the first check of a name that fails; nil: none does.
func (o *outcome) failing(name string) *record.Check {
	for i := range o.fails {
		if o.fails[i].Name == name {
			return &o.fails[i]
		}
	}
	return nil
}

// plays says whether the language takes a drive.
func (s *searcher) plays(d *drive) bool {
	_, err := s.setup.With(s.setup.Seed, d.suite("drive", "Drawn."))
	return err == nil
}

// play plays drives that are written as these sources side by side, each to a board that was just
// powered up, at a seed. A drive that the language refuses, as one that the bench cannot play, is not
// played; nor are those that ctx left no time for. Its error is that of a board that failed by itself.
func (s *searcher) play(ctx context.Context, seed uint64, sources []language.Source) ([]outcome, error) {
	out := make([]outcome, len(sources))
	var index []int // of those that can be played
	var can []language.Source
	for i, source := range sources {
		one, err := s.setup.With(seed, source)
		if err != nil {
			s.refused = err
			continue
		}
		if one.Planned(suites.Options{}) > 0 {
			index, can = append(index, i), append(can, source)
		}
	}
	if len(can) == 0 || ctx.Err() != nil {
		return out, nil
	}
	setup, err := s.setup.With(seed, can...)
	if err != nil {
		return nil, err
	}
	result, driven, err := setup.Run(ctx, suites.Options{Workers: runtime.NumCPU(), Evidence: func(i, _ int, e *assertions.Evidence) {
		out[index[i]].reached = s.reachedIn(e)
	}})
	if err != nil && ctx.Err() == nil {
		return nil, fmt.Errorf("%s: %w", setup.Board, err)
	}
	s.result.Driving += driven
	for i, o := range index {
		c := &result.Suites[i].Cases[0]
		out[o].played = c.Trace != ""
		for _, k := range c.Checks {
			asked := len(k.Keys) > 0 || k.Name == assertions.EveryCommand
			out[o].judged = out[o].judged || asked && (k.Verdict == record.Pass || k.Verdict == record.Fail)
			if k.Verdict == record.Fail {
				out[o].fails = append(out[o].fails, k)
			}
		}
	}
	return out, nil
}
