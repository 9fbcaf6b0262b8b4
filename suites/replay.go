package suites

import (
	"context"
	"errors"
	"fmt"
	"sync"

	"hilrig/assertions"
	"hilrig/rig/signal"
	"hilrig/suites/file"
	"hilrig/suites/language"
	"hilrig/suites/record"
	"hilrig/suites/report"
)

// Inputs returns the files of the setup, for a record.
func (s *Setup) Inputs() []record.Input {
	in := []record.Input{
		{Role: record.CarInput, Path: s.Car.Source.Path, Data: s.Car.Source.Data},
		{Role: record.BenchInput, Path: s.Bench.Source.Path, Data: s.Bench.Source.Data},
	}
	seen := map[string]bool{}
	for _, suite := range s.Suites {
		in = append(in, record.Input{Role: record.SuiteInput, Path: suite.Source.Path, Data: suite.Source.Data})
		for _, log := range suite.Logs {
			if !seen[log.Path] {
				seen[log.Path] = true
				in = append(in, record.Input{Role: record.LogInput, Path: log.Path, Data: log.Data})
			}
		}
	}
	return in
}

// SetupOf sets up a run again by the files that its record keeps. Of a board that was a command it takes the
// command: what a record says is not started.
func SetupOf(r *record.Record, command *BoardCommand) (*Setup, error) {
	inputs, err := record.Inputs(r.Folder)
	if err != nil {
		return nil, err
	}
	files := FilesOf(r.Result, inputs)
	files.Command = command
	s, err := Load(files)
	if err != nil {
		// %v, for the places in the error are in the record, not where its files came from.
		return nil, fmt.Errorf("record %s: the files that it keeps in inputs: %v", r.Folder, err)
	}
	return s, nil
}

// FilesOf returns the files that a record's inputs, board and seed name, for
// Load. Of a record whose board was a command they make a board that fails, for what a record says is not
// started: whoever has the command puts it into Files.Command.
func FilesOf(r *record.Result, inputs []record.Input) Files {
	f := Files{Board: r.Board.Name, Seed: r.Seed}
	logs := map[string][]byte{}
	for _, in := range inputs {
		source := language.Source{Path: in.Path, Data: in.Data}
		switch in.Role {
		case record.CarInput:
			f.Car = source
		case record.BenchInput:
			f.Bench = source
		case record.SuiteInput:
			f.Suites = append(f.Suites, source)
		case record.LogInput:
			logs[in.Path] = in.Data
		}
	}
	f.Read = func(path string) ([]byte, error) {
		if data, ok := logs[path]; ok {
			return data, nil
		}
		return nil, fmt.Errorf("the record keeps no drive log %s", path)
	}
	return f
}

// Rewatch plays one case of a record again, with what was played before it in
// its suite, and returns all its wires. Suite and index are its place in the
// plan. The first run of a case is watched, not its repeats. Where what comes
// out is not what the record says, the error says so.
func (s *Setup) Rewatch(ctx context.Context, r *record.Result, suite, index int) (*report.Wires, error) {
	s, err := s.fittedAgain(ctx, r, suite)
	if err != nil {
		return nil, err
	}
	w := report.Watch(s.wiring.Layout())
	again := replay{
		setup: s, of: r, suite: suite, last: index,
		tap: func(driven, captured []signal.Edge) {
			if w.To == 0 { // not watched to the end yet
				w.Add(driven, captured)
			}
		},
		before: func(ses *session, i int) {
			if i == index {
				ses.watch = w
			}
			w.Begin(0) // of what came before only the levels are of use
		},
	}
	if err := again.play(ctx); err != nil {
		return nil, err
	}
	if w.To == 0 {
		return nil, fmt.Errorf("case %q was not played in this run", title(&s.Suites[suite].Cases[index]))
	}
	return w, nil
}

// Retraced is one case of a record that was played again.
type Retraced struct {
	Suite, Index int // its place in the plan, counted from 0
	Case         *file.Case
	Evidence     *assertions.Evidence // of the run that was judged, with its repeats
}

// Retrace plays cases of a simulated record again, with what was played before them in
// their suites, two suites side by side, and calls got with each case that want selects; suite and index are
// its place in the plan. Calls of got do not overlap, and what one is given holds until it
// returns. Cases that the run did not play are passed over. Where what comes out is not what the record says,
// the error says so; an error of got ends the suite and is returned.
func (s *Setup) Retrace(ctx context.Context, r *record.Result, want func(suite, index int) bool, got func(c *Retraced) error) error {
	var one sync.Mutex // held by the call of got that is under way
	var wait sync.WaitGroup
	limit := make(chan struct{}, 2)
	failures := make([]error, len(r.Suites))
	s, err := s.fittedAgain(ctx, r, -1)
	if err != nil {
		return err
	}
	for suite := range r.Suites {
		last := -1
		for i := range r.Suites[suite].Cases {
			if want(suite, i) {
				last = i
			}
		}
		if last < 0 {
			continue
		}
		again := replay{
			setup: s, of: r, suite: suite, last: last,
			after: func(ses *session, i int) error {
				if !want(suite, i) {
					return nil
				}
				one.Lock()
				defer one.Unlock()
				return got(&Retraced{Suite: suite, Index: i, Case: &s.Suites[suite].Cases[i], Evidence: ses.judged})
			},
		}
		limit <- struct{}{}
		wait.Go(func() {
			failures[suite] = again.play(ctx)
			<-limit
		})
	}
	wait.Wait()
	return errors.Join(failures...)
}

// replay plays a suite of a simulated record again, up to a case.
type replay struct {
	setup       *Setup
	of          *record.Result
	suite, last int                                  // places in the plan, counted from 0
	tap         func(driven, captured []signal.Edge) // sees all edges; nil where nobody looks
	before      func(ses *session, i int)            // called before a case is played; nil where nothing is to be done
	after       func(ses *session, i int) error      // called after it; nil where nothing is to be done
}

// play plays the cases that the record's run played.
func (p *replay) play(ctx context.Context) error {
	s, r := p.setup, p.of
	if r.Real != "" {
		return fmt.Errorf("the record is of a run in real time (%s, board %s): played again in a simulation it would not be what its wires showed", r.Real, r.Board.Name)
	}
	if err := s.planned(r, p.suite, p.last); err != nil {
		return err
	}
	ses, err := s.open(ctx, s.Suites[p.suite], s.board, p.tap)
	defer ses.close()
	if err != nil {
		return err
	}
	for i := range p.last + 1 {
		if r.Suites[p.suite].Cases[i].Trace == "" {
			continue
		}
		if p.before != nil {
			p.before(ses, i)
		}
		if err := p.runCase(ctx, ses, i); err != nil {
			return err
		}
		if p.after == nil {
			continue
		}
		if err := p.after(ses, i); err != nil {
			return err
		}
	}
	return nil
}

// runCase plays one case; it is an error where what comes out is not what the record says.
func (p *replay) runCase(ctx context.Context, ses *session, i int) error {
	c, out := &p.setup.Suites[p.suite].Cases[i], p.of.Suites[p.suite].Cases[i]
	recorded := out.Trace
	out.Checks = nil
	if err := ses.runCase(ctx, c, p.of.Fresh, &out); err != nil {
		return err
	}
	if out.Trace != recorded {
		return fmt.Errorf("case %q came out differently from its record (trace %.12s, not %.12s); was it made by another version?",
			title(c), out.Trace, recorded)
	}
	return nil
}

// planned says by its error where a setup, made of a record's files, has not the cases of a
// suite of the record, up to one.
func (s *Setup) planned(r *record.Result, suite, index int) error {
	if suite >= len(s.Suites) {
		return fmt.Errorf("the files that the record keeps lack the suite %q; inputs/list.json is not as it was written", r.Suites[suite].Name)
	}
	cases := s.Suites[suite].Cases
	for i := range index + 1 {
		c := &r.Suites[suite].Cases[i]
		if i >= len(cases) || cases[i].Name != c.Name || cases[i].Variant != c.Variant {
			return fmt.Errorf("the suite %q that the record keeps has no case %q at its place %d; its files are not those that were run",
				r.Suites[suite].Name, c.Title(), i+1)
		}
	}
	return nil
}
