package report

import (
	"fmt"
	"regexp"
	"slices"
	"strings"

	"hilrig/suites/record"
)

// Long says whether a result that is not good has more lines in its whole text than there is room for, and is better
// told by [Brief].
func Long(r *record.Result, whole string, room int) bool {
	return (r.Outcome == record.NoGo || r.Outcome == record.NotShown) && strings.Count(whole, "\n") > room
}

// Block is a few lines about what is alike.
type Block struct {
	Verdict, Head string
	Lines         []string
}

// Brief tells a result in at most so many lines, or one more than it has suites: a line for each suite, then a block for each group of like failures,
// which is one situation, as "understeer", wherever it is asked; the later ones by their first lines alone where the room ends.
func Brief(r *record.Result, room int) []Block {
	var all []Block
	for i := range r.Suites {
		all = append(all, suiteBlock(&r.Suites[i], r.Path(r.Suites[i].File)))
	}
	groups := AllAlike(Failures(r))
	room -= len(all)
	for i, g := range groups {
		b := g.block()
		others := len(groups) - i - 1
		if 2+len(b.Lines)+others > room { // its head and a blank line, and the heads of the others
			b.Lines = nil
		}
		if room <= 1 && others > 0 {
			return append(all, Block{Verdict: b.Verdict, Head: Count(others+1, "more group") + " of like failures"})
		}
		room--
		if len(b.Lines) > 0 {
			room -= 1 + len(b.Lines)
		}
		all = append(all, b)
	}
	return all
}

// suiteBlock is a suite's line: what its checks came to, and how many cases were not played beside them.
func suiteBlock(s *record.Suite, file string) Block {
	n := s.Counts
	all := Count(n.Pass+n.Fail+n.Undecided, "check")
	b := Block{Verdict: n.Played().Worst(), Head: fmt.Sprintf("%s  (%s), %s", s.Name, file, all)}
	switch {
	case n.Fail > 0:
		b.Head = fmt.Sprintf("%s  (%s), %d of %s", s.Name, file, n.Fail, all)
	case n.Undecided > 0:
		b.Head = fmt.Sprintf("%s  (%s), %d of %s", s.Name, file, n.Undecided, all)
	}
	if n.NotRun > 0 {
		b.Head += ", " + Count(n.NotRun, "case") + " not played"
	}
	return b
}

// Alike is failures of one verdict and situation.
type Alike struct {
	situation string
	Failures  []*Failure // at least one
}

// AllAlike puts failures together that are of one verdict and situation, in the order of the first of each.
func AllAlike(all []*Failure) []*Alike {
	var groups []*Alike
	for _, f := range all {
		situation, _ := Situation(f.Check)
		i := slices.IndexFunc(groups, func(g *Alike) bool { return g.situation == situation && g.Failures[0].Verdict == f.Verdict })
		if i < 0 {
			i = len(groups)
			groups = append(groups, &Alike{situation: situation})
		}
		groups[i].Failures = append(groups[i].Failures, f)
	}
	return groups
}

// Situation parts the name of a check into the situation that it is asked in and what is asked there; of one without a
// situation the first is the name for any motor.
func Situation(check string) (situation, asked string) {
	if situation, asked, ok := strings.Cut(check, ": "); ok {
		return situation, asked
	}
	return AnyMotor(check), ""
}

var motors = regexp.MustCompile(`(front|rear)_(left|right)|(outside|inside)_(front|rear)`)

// AnyMotor returns the name of a check with "motor" for each motor that it names.
func AnyMotor(check string) string { return motors.ReplaceAllString(check, "motor") }

// mostAsked is how many of the things asked in a situation are named.
const mostAsked = 4

// Head tells how many checks there are in a group of like failures, and of what.
func (g *Alike) Head() string {
	checks := 0
	var cases, asked []string
	for _, f := range g.Failures {
		checks += len(f.Rows)
		if !slices.Contains(cases, f.Case) {
			cases = append(cases, f.Case)
		}
		if _, a := Situation(f.Check); a != "" && !slices.Contains(asked, a) {
			asked = append(asked, a)
		}
	}
	head := fmt.Sprintf("%s: %s in %s", g.situation, Count(checks, "check"), Count(len(cases), "case"))
	if n := len(asked); n > mostAsked {
		asked = append(asked[:mostAsked], fmt.Sprintf("%d more", n-mostAsked))
	}
	if len(asked) > 0 {
		head += " (" + strings.Join(asked, "; ") + ")"
	}
	return head
}

// block tells a group of like failures: how many there are and of what, then the first that measured something.
func (g *Alike) block() Block {
	shown := g.Failures[0]
	if i := slices.IndexFunc(g.Failures, func(f *Failure) bool { return f.measured() >= 0 }); i >= 0 {
		shown = g.Failures[i]
	}
	return Block{Verdict: shown.Verdict, Head: g.Head(), Lines: shown.inShort()}
}

// measured returns the first of the failure's rows that measured something, or -1.
func (f *Failure) measured() int {
	return slices.IndexFunc(f.Rows, func(w Row) bool { return w.Check.Measured() })
}

// inShort tells where a failure is, what its first row measured, and why it is none that passes.
func (f *Failure) inShort() []string {
	w := f.Rows[max(0, f.measured())]
	var parts []string
	for _, part := range []string{w.Variant, w.Check.Quantity, Measured(w.Check), Limit(w.Check), Where(w.Check)} {
		if part != "" {
			parts = append(parts, part)
		}
	}
	lines := []string{fmt.Sprintf("  first in %s, %s:%d", f.Case, f.File, f.Line), "  " + strings.Join(parts, ", ")}
	if w.Check.Why != "" {
		lines = append(lines, "  "+w.Check.Why)
	}
	return lines
}
