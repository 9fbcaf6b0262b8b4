package file

import "hilrig/suites/language"

// reader reads one file, and puts together what the file declares.
type reader struct {
	*language.Reader
	others language.Problems // of further files that the file names, in order
	notes  language.Warnings
}

// kinds lists the keys that the files begin with.
var kinds = []string{"car", "bench", "suite"}

func newReader(s language.Source) *reader { return &reader{Reader: language.NewReader(s)} }
