package main

import (
	"errors"
	"fmt"

	"hilrig/suites/file"
	"hilrig/suites/language"
)

// keep adds an error's problems. It reports whether there was an error.
func (l *linted) keep(err error) bool {
	var problems language.Problems
	if errors.As(err, &problems) {
		l.problems = append(l.problems, problems...)
	}
	return err != nil
}

// readCar checks a car file. The last without problems is what benches and
// suites are checked against.
func (l *linted) readCar(s language.Source) {
	if car, err := file.ParseCar(s); !l.keep(err) {
		l.car = car
		l.warnings = append(l.warnings, file.LintCar(car)...)
	}
}

// readBench checks a bench file. The last without problems is what suites are
// checked against.
func (l *linted) readBench(s language.Source) {
	if bench, err := file.ParseBenchOn(s, thisPi()); !l.keep(err) {
		l.bench = bench
		l.warnings = append(l.warnings, file.LintBench(bench)...)
	}
}

// readSuite checks a suite file, with car and bench where they are right.
func (l *linted) readSuite(s language.Source, readLog func(string) ([]byte, error)) {
	suite, err := file.ParseSuiteWith(s, file.SuiteOptions{Car: l.car, Bench: l.bench, Read: readLog})
	if l.keep(err) {
		return
	}
	if longest := file.LongestOf(suite, l.bench); longest != "" {
		l.sizes = append(l.sizes, fmt.Sprintf("%s: %s, %s", s.Path, count(len(suite.Cases), "case"), longest))
	}
	if l.car != nil && l.bench != nil {
		l.warnings = append(l.warnings, file.Lint(suite, l.car, l.bench)...)
	}
}
