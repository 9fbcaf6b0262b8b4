package suites

import (
	"context"

	"hilrig/suites/file"
	"hilrig/suites/language"
)

// Measured plays the signs of life where they measure what the motors are commanded over the throttle, and
// returns the setup with what they measured; where nothing is to be measured, the setup itself.
func (s *Setup) Measured(ctx context.Context) (*Setup, error) {
	r := &run{setup: s, result: s.Plan()}
	failures := make([]error, len(s.Suites))
	i := r.measureCurve(ctx, failures)
	if i < 0 {
		return s, nil
	}
	return r.setup, failures[i]
}

// With returns the setup with suites of these sources in place of its own, to be played to the same board
// with this seed. The signs of life are not played again. Its error is a language.Problems where files are wrong.
func (s *Setup) With(seed uint64, sources ...language.Source) (*Setup, error) {
	out := *s
	out.Seed, out.Suites, out.life = seed, nil, nil
	var problems language.Problems
	for _, source := range sources {
		suite, err := file.ParseSuiteWith(source, file.SuiteOptions{Car: s.Car, Bench: s.Bench, Read: s.read, Curve: s.curve})
		if p, ok := err.(language.Problems); ok {
			problems = append(problems, p...)
		} else if err != nil {
			return nil, err
		}
		out.Suites = append(out.Suites, suite)
	}
	if len(problems) > 0 {
		return nil, problems
	}
	if !out.perfect() {
		out.giveSpares()
	}
	out.spaceTrials()
	return &out, nil
}
