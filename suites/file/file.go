// Package file reads the files that an owner writes: the car with its policy, the
// bench with its wires, the suites with their cases, the setup that says which of them are
// meant, the stand on which a speed controller is under test, and the faults that a board of
// the owner's own can have.
//
// A file is read in three steps. Its YAML becomes a tree of nodes, each with
// its place. The tree is held against a [language.Table], in which each [language.Key]
// says what may stand there: a word, a whole number, a [language.Quantity] with its
// unit, another table. What passes is put together as a [Car], a [Bench], a [Suite], a [SetupFile], a [Stand] or [Faults]; a
// suite's cases are expanded then, one for each combination of its each lists.
//
// What moves within a step is a stimulus.Shape; a case may replay a drive log, a
// CSV file that the caller opens for [ParseSuiteWith]. A suite that car and bench
// cannot play is a problem of the suite; what is odd about one that they can,
// [Lint] says.
//
// The tables are the one source of the language: [language.Schema] turns them into
// a JSON Schema for editors, the tests of this package into a page for people. Both are
// checked in; a test holds them against the tables, and writes them anew when it is asked to.
//
// Nothing is guessed at: what a file gets wrong is a [language.Problem] with its place,
// the value, what is wrong and the remedy, and all [language.Problems] of a file are
// reported at once. What a car file leaves out on purpose is filled in by the
// rules of guessed.go and listed in [Car.Guessed].
//
// # Units and signs
//
// In a file every quantity has its unit written out, "20 ms", "8 deg"; a bare
// number is a problem. In the types that this package returns they are SI:
// metres, seconds, radians, shares as fractions; times on wires and lengths of
// steps are signal.Time, whole nanoseconds. Axes and signs are those of ISO
// 8855: yaw rate and steer angle are positive to the left.
//
// # Time
//
// The package knows no clock and opens no file. Settle and observe are spans of
// the case; the times of shapes, faults and bumps count from their step's beginning.
//
// # Sources
//
// YAML 1.2.2; RFC 4180 (CSV); JSON Schema, draft 2020-12. Units: SI Brochure, 9th
// edition.
package file

import "hilrig/suites/language"

// kinds are the kinds of file; the first key of each is the one that a file begins with.
var kinds = []*language.Table{CarTable, BenchTable, SuiteTable, SetupTable, StandTable, FaultsTable}

// kindWords lists the keys that files begin with.
func kindWords() (words []string) {
	for _, t := range kinds {
		words = append(words, t.Keys[0].Name)
	}
	return words
}

// reader reads one file, and puts together what the file declares.
type reader struct {
	*language.Reader
	kind   string            // the key that the file begins with
	others language.Problems // of further files that the file names, in order
	notes  language.Warnings
}

// open reads a file of the kind that t declares; v is nil where there is no such table in it.
func open(s language.Source, t *language.Table) (r *reader, v *language.Mapping) {
	r = &reader{Reader: language.NewReader(s), kind: t.Keys[0].Name}
	if top := r.Tree(r.kind, kindWords()...); top != nil {
		v = r.Read(top, t)
	}
	return r, v
}
