package file

import (
	"fmt"
	"regexp"

	"hilrig/rig"
	"hilrig/suites/language"
)

// suiteChecker holds a suite against what car and bench can play.
type suiteChecker struct {
	suite    *Suite
	car      *Car
	bench    *Bench
	wiring   *rig.Wiring // nil without a car
	lines    []string
	problems language.Problems
	seen     map[language.Problem]int // where in problems one stands, by the problem without its numbers
	again    []int                    // how often each of problems came again with other numbers
}

// newSuiteChecker returns a checker of a suite, with the car and the bench, either of which may be nil.
func newSuiteChecker(s *Suite, car *Car, bench *Bench) *suiteChecker {
	return &suiteChecker{suite: s, car: car, bench: bench, lines: s.Source.Lines(), seen: map[language.Problem]int{}}
}

// at reports a problem with a place of the suite file.
func (p *suiteChecker) at(place language.Place, level language.Level, message, remedy string) {
	p.report(language.Problem{Place: place, Message: message, Remedy: remedy, Level: level})
}

// report reports a problem of the suite file. What variants of a case have in common is one problem, whatever
// their numbers.
func (p *suiteChecker) report(q language.Problem) {
	without := q
	without.Value, without.Message, without.Remedy = "", numbers.ReplaceAllString(q.Message, ""), numbers.ReplaceAllString(q.Remedy, "")
	if i, ok := p.seen[without]; ok {
		if p.problems[i].Message != q.Message {
			p.again[i]++
		}
		return
	}
	p.seen[without] = len(p.problems)
	q.Excerpt = language.ExcerptAt(p.lines, q.Line, q.Column)
	p.problems, p.again = append(p.problems, q), append(p.again, 0)
}

// numbers are those of a message.
var numbers = regexp.MustCompile(`-?[0-9]+(\.[0-9]+)?`)

// told returns what was reported. Of what came again with other numbers it says how often.
func (p *suiteChecker) told() language.Problems {
	for i, n := range p.again {
		switch {
		case n == 1:
			p.problems[i].Message += ", and once more with other numbers"
		case n > 1:
			p.problems[i].Message += fmt.Sprintf(", and %d times more with other numbers", n)
		}
	}
	return p.problems
}
