package suites

import (
	"slices"

	"hilrig/suites/file"
	"hilrig/suites/language"
)

// Odd returns what is odd about the setup's files, which can be played all the same: of the
// bench, of the car, then of the suites; what a suite of the owner's own expects in vain among it.
func (s *Setup) Odd() language.Warnings {
	all := slices.Concat(file.LintBench(s.Bench), file.LintRest(s.Bench, s.Car), file.LintWay(s.Bench, s.Car), file.LintCar(s.Car))
	for _, suite := range s.Suites {
		for _, p := range file.Unasked(suite, s.Car, s.Bench) {
			p.Level = language.Warning
			all = append(all, p)
		}
		all = append(all, file.Lint(suite, s.Car, s.Bench)...)
	}
	return all
}
