package file

import (
	"fmt"

	"hilrig/suites/language"
)

// mostCases is how many cases a suite may have once it is expanded.
const mostCases = 5000

// mostReplays is how often a suite may replay a drive log once it is expanded.
const mostReplays = 100

// mostSteps is how many steps a case may have.
const mostSteps = 64

// SuiteOptions is what a suite is read with. All may be nil.
type SuiteOptions struct {
	// Car gives the demand where a yaw rate is written as a share of it; Bench the
	// wires. Where one is nil, because its own file was wrong, what depends on it is
	// left at 0 and not checked.
	Car   *Car
	Bench *Bench
	// Read returns the bytes of a drive log. path is the name that the suite file
	// gives, put behind the folder of the suite file's own path with slashes. Where Read
	// is nil, a suite that replays a log is a problem.
	Read func(path string) ([]byte, error)
}

// suiteReader is what the cases of a suite share.
type suiteReader struct {
	readLog func(path string) ([]byte, error)
	logs    map[string]*driveLog // by path; one that is wrong has no times
	played  []language.Source
}

// ParseSuite reads a suite file that replays no drive log; see [ParseSuiteWith].
func ParseSuite(s language.Source, car *Car, bench *Bench) (*Suite, error) {
	return ParseSuiteWith(s, SuiteOptions{Car: car, Bench: bench})
}

// ParseSuiteWith reads a suite file and expands its cases: in the order of the
// file, those of one case in the order of its each lists, the last list fastest.
// Where car and bench are given, it is an error too if they cannot play the
// suite. The error is of type [language.Problems].
func ParseSuiteWith(s language.Source, o SuiteOptions) (*Suite, error) {
	r := newReader(s)
	top := r.Tree("suite", kinds...)
	if top == nil {
		return nil, r.Problems.Sorted()
	}
	v := r.Read(top, SuiteTable)
	suite := &Suite{Source: s, Name: v.Word("suite"), About: v.Word("about")}
	shared := &suiteReader{readLog: o.Read, logs: map[string]*driveLog{}}
	names, replays := map[string]int{}, 0
	for _, c := range v.List("cases") {
		if c.Bad {
			continue
		}
		b := &caseBuilder{reader: r, suiteReader: shared, car: o.Car, bench: o.Bench, v: c.Mapping, defaults: v.Sub("defaults")}
		if n := c.Mapping.Get("case"); n != nil {
			if line, twice := names[n.Word]; twice {
				r.Report(n.Node, fmt.Sprintf("case %q stands twice, first on line %d", language.Brief(n.Word), line), "give it another name")
			} else {
				names[n.Word] = n.Node.Line
			}
		}
		if room := mostCases - len(suite.Cases); b.combinations() > room {
			r.Report(c.Node, fmt.Sprintf("the suite has more than %d cases once it is expanded", mostCases), "shorten the lists of each, or split the suite")
			break
		}
		if c.Mapping.Written("replay") {
			if replays += b.combinations(); replays > mostReplays {
				r.Report(c.Node, fmt.Sprintf("the suite replays drive logs more than %d times once it is expanded", mostReplays), "shorten the lists of each, or split the suite")
				break
			}
		}
		suite.Cases = append(suite.Cases, b.cases()...)
	}
	suite.Logs, suite.notes = shared.played, r.notes
	if len(r.Problems) == 0 {
		r.Problems = append(r.Problems, impossible(suite, o.Car, o.Bench)...)
	}
	if len(r.Problems)+len(r.others) > 0 {
		r.Problems.Sort()
		return nil, append(r.Problems, r.others...)
	}
	return suite, nil
}
