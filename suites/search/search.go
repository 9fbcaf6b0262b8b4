package search

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"slices"
	"time"

	"hilrig/rig/signal"
	"hilrig/suites"
	"hilrig/suites/language"
	"hilrig/suites/parts"
	"hilrig/suites/record"
)

const (
	// lines is how many lines a search has. Each is drawn for itself: what it draws next goes by what its own drives
	// reached, so that it does not matter which machine plays it.
	lines = 8
	// inRound is how many drives a line draws at once.
	inRound = 2
	// fewestRounds is behind how many rounds some drive has been played where any can be.
	fewestRounds = 3
	// mostFound is after how many findings a search ends.
	mostFound = 3
)

// Options say how to search.
type Options struct {
	For      time.Duration  // draws no more after this; 0: no such end
	Drives   int            // draws no more after so many, in whole rounds of sixteen; 0: no such end
	Most     int            // ends after so many findings; 0: 3, for a board with so many is looked at first
	Tries    int            // plays so many drives at most to shrink one; 0: 240
	Into     string         // the folder that what is found will be written into, which has to be there; empty: it is not looked at
	Typed    Typed          // what was typed of the files and the board
	Split    parts.Split    // which of the lines are played; zero: all
	Progress func(Progress) // nil tells nobody; calls do not overlap
}

// most is after how many findings the search ends.
func (o *Options) most() int { return cmp.Or(o.Most, mostFound) }

// Progress is how far a search has come.
type Progress struct {
	Drives, Found int
	Driving       signal.Time
	Shrinking     string // the check whose drive is being shrunk; empty: none is
}

// Words says how far it has come.
func (p *Progress) Words() string {
	line := fmt.Sprintf("%d drives  %.0f s driven  %d found", p.Drives, p.Driving.Seconds(), p.Found)
	if p.Shrinking != "" {
		line += "  shrinking: " + p.Shrinking
	}
	return line
}

// searcher is a search under way.
type searcher struct {
	setup   *suites.Setup
	options Options
	result  *Result
	artist  *artist
	refused error // the last drive that the language refused
	lines   []*line
	seen    []candidate
}

// line is one of the lines of a search.
type line struct {
	number  int // counted from 0
	kept    []drive
	reached map[uint64]bool
	known   map[string]bool // checks that failed in it
}

// candidate is a check that failed in a drive, and in none before it of the same line.
type candidate struct {
	drive  drive
	check  record.Check
	number int // of the drive, counted from 1
}

// ErrReal says that a search is for simulated benches.
var ErrReal = errors.New("search: it plays on the simulated bench alone, for what it draws is not meant for motors that have their supply; leave out the pins, or name a bench of kind simulated")

// Run searches on a setup, whose suites are at most the signs of life. It ends at the end of its options,
// or when ctx is done: then with what was found, and no error.
func Run(ctx context.Context, setup *suites.Setup, o Options) (*Result, error) {
	s := &searcher{setup: setup, options: o}
	s.result = &Result{Seed: setup.Seed, Flags: o.Typed.flags(setup.Seed), Found: []Finding{}, NotAgain: []Finding{}}
	if setup.Bench.Kind != "simulated" {
		return nil, ErrReal
	}
	if o.Into != "" {
		if err := inFolder(o.Into); err != nil {
			return nil, err
		}
	}
	if err := s.take(); err != nil {
		return nil, err
	}
	fitted, err := setup.Measured(ctx)
	switch {
	case ctx.Err() != nil:
		s.result.Stopped = true
		s.result.seal()
		return s.result, nil
	case err != nil:
		return nil, err
	}
	s.setup = fitted
	s.artist = newArtist(setup.Car, s.plays)
	drawing := ctx
	if o.For > 0 {
		var stop context.CancelFunc
		drawing, stop = context.WithTimeout(ctx, o.For)
		defer stop()
	}
	for n := 0; drawing.Err() == nil && (o.Drives == 0 || n*lines*inRound < o.Drives) && len(distinct(s.seen)) < o.most(); n++ {
		if err := s.round(drawing, n); err != nil {
			return nil, err
		}
		if n == fewestRounds && s.result.Drives == 0 && s.refused != nil && drawing.Err() == nil {
			return nil, fmt.Errorf("search: no drive of the first %d can be played: %w", (n+1)*len(s.lines)*inRound, s.refused)
		}
	}
	if err := s.shrinkAll(ctx); err != nil {
		return nil, err
	}
	s.result.Stopped = ctx.Err() != nil
	s.result.seal()
	return s.result, nil
}

// take sets up the lines that are played here.
func (s *searcher) take() error {
	split := s.options.Split
	if split.Shard.Of > lines {
		return fmt.Errorf("search: a search is split into at most %d parts, and %d are asked for; give --shard of fewer", lines, split.Shard.Of)
	}
	for n := range lines {
		if of := split.Shard.Of; of == 0 || n%of == split.Shard.Number-1 {
			s.lines = append(s.lines, &line{number: n, reached: map[uint64]bool{}, known: map[string]bool{}})
		}
	}
	if split.Shard.Of > 0 {
		s.result.Part = s.part()
	}
	return nil
}

// round draws and plays round number n of each line, counted from 0.
func (s *searcher) round(drawing context.Context, n int) error {
	type place struct {
		of     *line
		number int // of the drive, counted from 0
	}
	var places []place
	var drives []drive
	var sources []language.Source
	for _, l := range s.lines {
		for i := range inRound {
			number := (n*lines+l.number)*inRound + i
			d := s.artist.drive(s.setup.Seed, number, l.kept)
			places, drives = append(places, place{l, number}), append(drives, d)
			sources = append(sources, d.suite(titled(number+1, s.setup.Seed), "Drawn."))
		}
	}
	all, err := s.play(drawing, s.setup.Seed, sources)
	if err != nil {
		return err
	}
	var done Round
	for i := range all {
		if !all[i].played {
			if drawing.Err() != nil {
				break // those behind it may have been played by luck
			}
			continue
		}
		done.Drives++
		if all[i].judged {
			done.Judged++
		}
		l := places[i].of
		done.Reached += l.keep(&drives[i], all[i].reached)
		if s.look(l, &drives[i], places[i].number+1, &all[i]) {
			done.Forgotten++
		}
	}
	s.result.add(done)
	s.tell("")
	return nil
}

// keep keeps a drive that reached something new, and returns how much is new.
func (l *line) keep(d *drive, reached []uint64) int {
	before := len(l.reached)
	for _, x := range reached {
		l.reached[x] = true
	}
	if len(l.reached) > before && d.loss == nil && d.point == nil {
		l.kept = append(l.kept, *d)
	}
	return len(l.reached) - before
}

// look notes the first check that fails in a drive, where none of those that fail did before in its line; forgotten says
// that one did, for what else fails in it may come of the same.
func (s *searcher) look(l *line, d *drive, number int, o *outcome) (forgotten bool) {
	for i := range o.fails {
		if l.known[o.fails[i].Name] {
			return true
		}
	}
	if len(o.fails) == 0 {
		return false
	}
	for i := range o.fails {
		l.known[o.fails[i].Name] = true
	}
	s.seen = append(s.seen, candidate{*d, o.fails[0], number})
	return false
}

// distinct returns the first of each check, in the order of their drives.
func distinct(all []candidate) (first []candidate) {
	known := map[string]bool{}
	for _, c := range slices.SortedFunc(slices.Values(all), func(a, b candidate) int { return cmp.Compare(a.number, b.number) }) {
		if !known[c.check.Name] {
			known[c.check.Name] = true
			first = append(first, c)
		}
	}
	return first
}

// shrinkAll shrinks the drives of the checks that were seen first to fail.
func (s *searcher) shrinkAll(ctx context.Context) error {
	first := distinct(s.seen)
	for _, c := range first[:min(len(first), s.options.most())] {
		s.tell(c.check.Name)
		found, again, err := s.shrunk(ctx, c.drive, &c.check, c.number)
		if err != nil {
			return err
		}
		found.Round = (c.number - 1) / (lines * inRound)
		if again {
			s.result.Found = append(s.result.Found, found)
		} else {
			s.result.NotAgain = append(s.result.NotAgain, found)
		}
	}
	return nil
}

// tell tells how far the search has come.
func (s *searcher) tell(shrinking string) {
	if s.options.Progress != nil {
		s.options.Progress(Progress{Drives: s.result.Drives, Found: len(s.result.Found), Driving: s.result.Driving, Shrinking: shrinking})
	}
}
