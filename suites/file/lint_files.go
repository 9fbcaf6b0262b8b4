package file

import (
	"bytes"
	"errors"
	"fmt"
	"slices"
	"strings"

	"hilrig/rig/raspberry/pinout"
	"hilrig/suites/language"
)

// Linted is what was found in files.
type Linted struct {
	Problems language.Problems
	Warnings language.Warnings
	Sizes    []Size // of each suite that can be played

	car   *Car   // nil where none was read without problems
	bench *Bench // nil where none was read without problems
}

// Size says how large a suite is.
type Size struct {
	Path    string
	Cases   int
	Longest string // its longest case, in words
}

// LintFiles checks files of any kind, and car and bench where none of the files is one. Host
// is the computer on which they are checked; read reads the logs that suites replay and the files
// of dynamometers that stands judge.
func LintFiles(all []language.Source, car, bench language.Source, host pinout.Model, read func(string) ([]byte, error)) *Linted {
	l := &Linted{}
	of := map[string][]language.Source{}
	for _, source := range all {
		kind := l.kind(source)
		of[kind] = append(of[kind], source)
	}
	for kind, otherwise := range map[string]language.Source{"car": car, "bench": bench} {
		if len(of[kind]) == 0 {
			of[kind] = []language.Source{otherwise}
		}
	}
	for _, source := range of["car"] {
		l.readCar(source)
	}
	for _, source := range of["bench"] {
		l.readBench(source, host)
	}
	for _, source := range of["suite"] {
		l.readSuite(source, read)
	}
	for _, source := range of["stand"] {
		l.readStand(source, read)
	}
	for _, source := range of["faults"] {
		_, err := ParseFaults(source)
		l.keep(err)
	}
	for _, source := range of["setup"] {
		_, err := ParseSetup(source)
		l.keep(err)
	}
	return l
}

// kind tells what a file is by its first key: "car", "bench", "suite", "setup", "stand" or "faults". Where
// it is none of them, that is a problem, and the kind "".
func (l *Linted) kind(s language.Source) string {
	if p, ok := language.NotText(s.Head().Text()); !ok {
		p.File = s.Path
		l.Problems = append(l.Problems, s.Head().Shown(p))
		return ""
	}
	line, text := firstWritten(s.Data)
	key, _, _ := strings.Cut(text, ":")
	key = strings.Trim(key, `{ "'`)
	words := kindWords()
	if slices.Contains(words, key) {
		return key
	}
	at := language.Place{File: s.Path, Line: line, Column: 1}
	for i := range words {
		words[i] += ": NAME"
	}
	message, remedy := fmt.Sprintf("the file begins with %.40q", text), "begin it with "+language.Or(words)+", which says what it is"
	switch {
	case text == "":
		message = "the file is empty"
	case strings.HasSuffix(strings.ToLower(s.Path), ".csv"):
		remedy = "a log is checked with the file that names it: check the suite that replays it, or the stand that judges it"
	}
	l.Problems = append(l.Problems, language.Problem{Place: at, Value: text, Message: message, Remedy: remedy})
	return ""
}

// firstWritten returns the first line of a file that is neither empty nor a
// comment nor the mark of a document's beginning, and its number from 1. Without
// one it is empty, on line 1.
func firstWritten(data []byte) (number int, text string) {
	data = bytes.TrimPrefix(data, []byte("\uFEFF"))
	for line := range strings.Lines(string(data[:min(len(data), 1<<16)])) {
		number++
		line = strings.TrimSpace(line)
		if line != "" && line[0] != '#' && line != "---" && line[0] != '%' {
			return number, line
		}
	}
	return 1, ""
}

// keep adds an error's problems. It reports whether there was an error.
func (l *Linted) keep(err error) bool {
	var problems language.Problems
	if errors.As(err, &problems) {
		l.Problems = append(l.Problems, problems...)
	}
	return err != nil
}

// readCar checks a car  The last without problems is what benches and
// suites are checked against.
func (l *Linted) readCar(s language.Source) {
	if car, err := ParseCar(s); !l.keep(err) {
		l.car = car
		l.Warnings = append(l.Warnings, LintCar(car)...)
	}
}

// readBench checks a bench  The last without problems is what suites are
// checked against.
func (l *Linted) readBench(s language.Source, host pinout.Model) {
	if bench, err := ParseBenchOn(s, host); !l.keep(err) {
		l.bench = bench
		l.Warnings = append(l.Warnings, LintBench(bench)...)
		if l.car != nil {
			l.Warnings = append(l.Warnings, LintRest(bench, l.car)...)
			l.Warnings = append(l.Warnings, LintWay(bench, l.car)...)
		}
	}
}

// readSuite checks a suite file, with car and bench where they are right.
func (l *Linted) readSuite(s language.Source, readLog func(string) ([]byte, error)) {
	suite, err := ParseSuiteWith(s, SuiteOptions{Car: l.car, Bench: l.bench, Read: readLog})
	if l.keep(err) {
		return
	}
	if longest := LongestOf(suite, l.bench); longest != "" {
		l.Sizes = append(l.Sizes, Size{s.Path, len(suite.Cases), longest})
	}
	if l.car != nil && l.bench != nil {
		l.Problems = append(l.Problems, Unasked(suite, l.car, l.bench)...)
		l.Warnings = append(l.Warnings, Lint(suite, l.car, l.bench)...)
	}
}

// readStand checks a stand file.
func (l *Linted) readStand(s language.Source, read func(string) ([]byte, error)) {
	if stand, err := ParseStand(s, read); !l.keep(err) {
		l.Warnings = append(l.Warnings, LintStand(stand)...)
	}
}
