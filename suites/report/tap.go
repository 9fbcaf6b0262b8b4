package report

import (
	"bufio"
	"fmt"
	"io"
	"strconv"
	"strings"
	"unicode"

	"hilrig/suites/record"
)

// TAP writes a record in the Test Anything Protocol: a test point for each check. The stream keeps
// the rules of version 14 and names version 13, whose readers take it too, as those of Perl's
// Test::Harness before 3.48 end at a newer number. What
// stands against GO is "not ok": a failed check, one that was left open, a case that did not run,
// what is wrong with the record. What was not asked or left out on purpose is skipped.
func TAP(out io.Writer, r *record.Record) error {
	t := tap{out: bufio.NewWriter(out)}
	t.head(r)
	for _, text := range r.Wrong() {
		t.point(false, wholeRecord, "")
		t.diagnostics([2]string{"why", text})
	}
	for i := range r.Result.Suites {
		s := &r.Result.Suites[i]
		for j := range s.Cases {
			t.caseOf(s, &s.Cases[j])
		}
	}
	return t.out.Flush()
}

// tap is a stream being written. Its writer remembers the first error.
type tap struct {
	out   *bufio.Writer
	count int
}

// head writes what stands before the first test point.
func (t *tap) head(r *record.Record) {
	points := len(r.Wrong())
	for i := range r.Result.Suites {
		for j := range r.Result.Suites[i].Cases {
			if c := &r.Result.Suites[i].Cases[j]; c.Verdict == record.NotRun || c.Verdict == record.Skipped {
				points++
			} else {
				points += len(c.Checks)
			}
		}
	}
	fmt.Fprintf(t.out, "TAP version 13\n1..%d\n# %s\n", points, tapText(r.Result.Outcome+"  car "+r.Result.Car.Name+", board "+r.Result.Board.Name))
}

// caseOf writes the test points of a case.
func (t *tap) caseOf(s *record.Suite, c *record.Case) {
	name := s.Name + ": " + c.Title()
	switch c.Verdict {
	case record.NotRun:
		t.point(false, name, "")
		t.diagnostics([2]string{"why", c.Why})
		return
	case record.Skipped:
		t.point(true, name, c.Why)
		return
	}
	for i := range c.Checks {
		t.check(name, &c.Checks[i])
	}
}

// check writes the test point of a check.
func (t *tap) check(of string, c *record.Check) {
	name := of + ": " + c.Name
	if c.Step != "" {
		name += ", in " + c.Step
	}
	switch c.Verdict {
	case record.Pass, record.MeasuredOnly:
		t.point(true, name, "")
	case record.NotAsked:
		t.point(true, name, c.Verdict+": "+c.Why)
	default:
		t.point(false, name, "")
		rows := [][2]string{{"verdict", c.Verdict}, {"why", c.Why}}
		if c.Measured() {
			rows = append(rows, [2]string{"value", c.Quantity + ": " + Measured(c)}, [2]string{"wanted", Limit(c)})
		}
		t.diagnostics(append(rows, [2]string{"at", fmt.Sprintf("%s:%d", c.File, c.Line)})...)
	}
}

// point writes one test point; skip is why it was skipped, empty where it was not.
func (t *tap) point(ok bool, name, skip string) {
	t.count++
	word := "ok"
	if !ok {
		word = "not ok"
	}
	fmt.Fprintf(t.out, "%s %d - %s", word, t.count, tapText(name))
	if skip != "" {
		fmt.Fprintf(t.out, " # SKIP %s", tapText(skip))
	}
	fmt.Fprintln(t.out)
}

// diagnostics writes what there is to say of the last test point, as a block of YAML.
func (t *tap) diagnostics(rows ...[2]string) {
	fmt.Fprintln(t.out, "  ---")
	for _, row := range rows {
		if row[1] != "" {
			fmt.Fprintf(t.out, "  %s: %s\n", row[0], strconv.Quote(oneLine(row[1])))
		}
	}
	fmt.Fprintln(t.out, "  ...")
}

// tapText writes a text in one line, with the two characters escaped that mean something there.
func tapText(text string) string {
	return strings.NewReplacer(`\`, `\\`, "#", `\#`).Replace(oneLine(text))
}

// oneLine leaves out of a text what cannot be seen, and writes it in one line.
func oneLine(text string) string {
	text = strings.Map(func(r rune) rune {
		if unicode.IsSpace(r) {
			return ' '
		}
		if !unicode.IsPrint(r) {
			return -1
		}
		return r
	}, text)
	return strings.Join(strings.Fields(text), " ")
}
