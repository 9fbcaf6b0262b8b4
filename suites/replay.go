package suites

import (
	"context"
	"fmt"

	"hilrig/rig/signal"
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

// FilesOf returns the files that a record's inputs, board and seed name, for
// Load.
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
	if r.Real != "" {
		return nil, fmt.Errorf("the record is of a run in real time (%s, board %s): played again in a simulation it would not be what its wires showed", r.Real, r.Board.Name)
	}
	if err := s.planned(r, suite, index); err != nil {
		return nil, err
	}
	w := report.Watch(s.wiring.Layout())
	tap := func(driven, captured []signal.Edge) {
		if w.To == 0 { // not watched to the end yet
			w.Add(driven, captured)
		}
	}
	ses, err := s.open(ctx, s.Suites[suite], s.board, tap)
	defer ses.close()
	if err != nil {
		return nil, err
	}
	played := r.Suites[suite].Cases
	for i := range index + 1 {
		if played[i].Trace == "" {
			continue
		}
		if i == index {
			ses.watch = w
		}
		w.Begin(0) // of what came before only the levels are of use
		out := played[i]
		out.Checks = nil
		if err := ses.runCase(ctx, &s.Suites[suite].Cases[i], r.Fresh, &out); err != nil {
			return nil, err
		}
		if out.Trace != played[i].Trace {
			return nil, fmt.Errorf("case %q came out differently from its record (trace %.12s, not %.12s); was it made by another version?",
				title(&s.Suites[suite].Cases[i]), out.Trace, played[i].Trace)
		}
	}
	if w.To == 0 {
		return nil, fmt.Errorf("case %q was not played in this run", title(&s.Suites[suite].Cases[index]))
	}
	return w, nil
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
