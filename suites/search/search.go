package search

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"time"

	"hilrig/rig/signal"
	"hilrig/suites"
	"hilrig/suites/language"
	"hilrig/suites/record"
)

const (
	// inRound is how many drives are drawn at once: what is drawn next goes by what those before it reached.
	inRound = 8
	// mostFound is after how many findings a search ends.
	mostFound = 3
)

// Options say how to search.
type Options struct {
	For      time.Duration  // draws no more after this; 0: no such end
	Drives   int            // draws no more after so many, in whole rounds; 0: no such end
	Most     int            // ends after so many findings; 0: 3, for a board with so many is looked at first
	Tries    int            // plays so many drives at most to shrink one; 0: 240
	Into     string         // the folder that what is found will be written into, which has to be there; empty: it is not looked at
	Progress func(Progress) // nil tells nobody; calls do not overlap
}

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

// Finding is a check that fails in a drive.
type Finding struct {
	Check, Why string
	Drive      int             // in which it was seen first, counted from 1
	Seeds      []uint64        // at which the shrunk drive was played and the check failed
	Confirmed  bool            // it failed at three seeds
	Suite      language.Source // the shrunk drive as a suite file
}

// Result is what a search came to.
type Result struct {
	Seed      uint64
	Drives    int         // played and judged
	Judged    int         // of them, by what the policy says
	Driving   signal.Time // in all
	Found     []Finding
	NotAgain  []string // checks that failed once and not at another seed
	Stopped   bool     // ctx ended it
	Reached   int      // combinations of values that channels and commands came to
	Forgotten int      // drives in which a check failed that was found before
}

// Outcome is what it comes to: NO-GO where something was found, NOT SHOWN where the search was
// stopped, a check failed that did not fail again or nothing was judged, else GO: nothing was found.
func (r *Result) Outcome() string {
	switch {
	case len(r.Found) > 0:
		return record.NoGo
	case r.Stopped || len(r.NotAgain) > 0 || r.Judged == 0:
		return record.NotShown
	}
	return record.Go
}

// searcher is a search under way.
type searcher struct {
	setup   *suites.Setup
	options Options
	result  *Result
	artist  *artist
	refused error // the last drive that the language refused
	kept    []drive
	reached map[uint64]bool
	known   map[string]bool // checks that were found, by name, or looked at in vain
}

// ErrReal says that a search is for simulated benches.
var ErrReal = errors.New("search: it plays on the simulated bench alone, for what it draws is not meant for motors that have their supply; leave out the pins, or name a bench of kind simulated")

// Run searches on a setup, whose suites are at most the signs of life. It ends at the end of its options,
// or when ctx is done: then with what was found, and no error.
func Run(ctx context.Context, setup *suites.Setup, o Options) (*Result, error) {
	s := &searcher{setup: setup, options: o, reached: map[uint64]bool{}, known: map[string]bool{}}
	s.result = &Result{Seed: setup.Seed}
	if setup.Bench.Kind != "simulated" {
		return nil, ErrReal
	}
	if o.Into != "" {
		if err := inFolder(o.Into); err != nil {
			return nil, err
		}
	}
	fitted, err := setup.Measured(ctx)
	switch {
	case ctx.Err() != nil:
		s.result.Stopped = true
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
	for n := 0; drawing.Err() == nil && (o.Drives == 0 || n < o.Drives) && len(s.result.Found) < cmp.Or(o.Most, mostFound); n += inRound {
		if err := s.round(ctx, drawing, n); err != nil {
			return nil, err
		}
		if s.result.Drives == 0 && s.refused != nil && drawing.Err() == nil {
			return nil, fmt.Errorf("search: no drive of the first can be played: %w", s.refused)
		}
	}
	s.result.Reached, s.result.Stopped = len(s.reached), ctx.Err() != nil
	return s.result, nil
}

// round draws and plays the drives behind the first n. What it finds is shrunk though drawing has ended,
// and not where ctx has.
func (s *searcher) round(ctx, drawing context.Context, n int) error {
	var drives []drive
	var sources []language.Source
	for i := range inRound {
		d := s.artist.drive(s.setup.Seed, n+i, s.kept)
		drives = append(drives, d)
		sources = append(sources, d.suite(fmt.Sprintf("drive %d", n+i+1), "Drawn."))
	}
	all, err := s.play(drawing, s.setup.Seed, sources)
	if err != nil {
		return err
	}
	for i := range all {
		if !all[i].played {
			if drawing.Err() != nil {
				return nil // those behind it may have been played by luck
			}
			continue
		}
		s.result.Drives++
		if all[i].judged {
			s.result.Judged++
		}
		s.keep(&drives[i], all[i].reached)
		if err := s.look(ctx, &drives[i], n+i+1, &all[i]); err != nil || len(s.result.Found) == cmp.Or(s.options.Most, mostFound) {
			return err
		}
	}
	s.tell("")
	return nil
}

// keep keeps a drive that reached something new.
func (s *searcher) keep(d *drive, reached []uint64) {
	before := len(s.reached)
	for _, x := range reached {
		s.reached[x] = true
	}
	if len(s.reached) > before && d.loss == nil && d.point == nil {
		s.kept = append(s.kept, *d)
	}
}

// look shrinks the drive of the first check that fails in it and was not found before.
func (s *searcher) look(ctx context.Context, d *drive, number int, o *outcome) error {
	for i := range o.fails {
		if s.known[o.fails[i].Name] {
			s.result.Forgotten++
			return nil // what else fails in it may come of the same
		}
	}
	if len(o.fails) == 0 {
		return nil
	}
	for i := range o.fails {
		s.known[o.fails[i].Name] = true
	}
	k := &o.fails[0]
	s.tell(k.Name)
	found, again, err := s.shrunk(ctx, *d, k, number)
	switch {
	case err != nil:
		return err
	case again:
		s.result.Found = append(s.result.Found, found)
	default:
		s.result.NotAgain = append(s.result.NotAgain, fmt.Sprintf("drive %d: %s: %s", number, k.Name, k.Why))
	}
	return nil
}

// tell tells how far the search has come.
func (s *searcher) tell(shrinking string) {
	if s.options.Progress != nil {
		s.options.Progress(Progress{Drives: s.result.Drives, Found: len(s.result.Found), Driving: s.result.Driving, Shrinking: shrinking})
	}
}
