package report

import (
	"encoding/xml"
	"fmt"
	"io"
	"strings"
	"time"
	"unicode"

	"hilrig/suites/record"
)

// The elements of a JUnit report, in the form that the junit task of Apache Ant writes.
type (
	junitSuites struct {
		XMLName xml.Name     `xml:"testsuites"`
		Suites  []junitSuite `xml:"testsuite"`
	}
	junitSuite struct {
		Name       string          `xml:"name,attr"`
		Package    string          `xml:"package,attr"`
		ID         int             `xml:"id,attr"`
		Tests      int             `xml:"tests,attr"`
		Failures   int             `xml:"failures,attr"`
		Errors     int             `xml:"errors,attr"`
		Skipped    int             `xml:"skipped,attr"`
		Time       string          `xml:"time,attr"`
		Timestamp  string          `xml:"timestamp,attr"`
		Hostname   string          `xml:"hostname,attr"`
		Properties []junitProperty `xml:"properties>property"`
		Cases      []junitCase     `xml:"testcase"`
		Out        string          `xml:"system-out"`
		Err        string          `xml:"system-err"`
	}
	junitProperty struct {
		Name  string `xml:"name,attr"`
		Value string `xml:"value,attr"`
	}
	junitCase struct {
		Name    string        `xml:"name,attr"`
		Class   string        `xml:"classname,attr"`
		Time    string        `xml:"time,attr"`
		Skipped *struct{}     `xml:"skipped"`
		Failure *junitProblem `xml:"failure"`
		Error   *junitProblem `xml:"error"`
	}
	junitProblem struct {
		Message string `xml:"message,attr"`
		Type    string `xml:"type,attr"`
		Text    string `xml:",chardata"`
	}
)

// JUnit writes a record as a JUnit report: a test for each check, named by suite, case and check.
// A check that failed is a failure; one that was left open, a case that did not run and what is
// wrong with the record are errors, for they stand against GO; what was not asked or left out on
// purpose is skipped. Characters that XML cannot have are left out.
func JUnit(out io.Writer, r *record.Record) error {
	all := junitSuites{}
	began := r.Host.Began
	if at, err := time.Parse(time.RFC3339, began); err == nil {
		began = at.UTC().Format("2006-01-02T15:04:05")
	} else {
		began = "1970-01-01T00:00:00" // the form wants one
	}
	host := r.Host.Machine
	if host == "" {
		host = "localhost"
	}
	add := func(s junitSuite) {
		s.ID, s.Timestamp, s.Hostname = len(all.Suites), began, xmlText(host)
		s.count()
		all.Suites = append(all.Suites, s)
	}
	if wrong := r.Wrong(); len(wrong) > 0 {
		s := junitSuite{Name: "record", Package: "hilrig", Time: "0"}
		for _, text := range wrong {
			s.Cases = append(s.Cases, junitCase{Name: wholeRecord, Class: "record", Time: "0", Error: &junitProblem{Message: xmlText(text), Type: record.NotShown}})
		}
		add(s)
	}
	for i := range r.Result.Suites {
		add(junitOf(r.Result, &r.Result.Suites[i]))
	}
	if _, err := io.WriteString(out, xml.Header); err != nil {
		return err
	}
	e := xml.NewEncoder(out)
	e.Indent("", "  ")
	if err := e.Encode(all); err != nil {
		return err
	}
	_, err := io.WriteString(out, "\n")
	return err
}

// junitOf returns a suite's part.
func junitOf(r *record.Result, s *record.Suite) junitSuite {
	driven := int64(0)
	out := junitSuite{Name: xmlToken(s.Name), Package: "hilrig"}
	for _, p := range [][2]string{
		{"car", r.Car.Name}, {"bench", r.Bench.Name}, {"board", r.Board.Name}, {"label", r.Label}, {"firmware", r.Firmware},
		{"seed", fmt.Sprint(r.Seed)}, {"outcome", r.Outcome}, {"digest", r.Digest},
	} {
		if p[1] != "" {
			out.Properties = append(out.Properties, junitProperty{p[0], xmlText(p[1])})
		}
	}
	for i := range s.Cases {
		c := &s.Cases[i]
		driven += c.LengthNS
		class := xmlToken(s.Name + ": " + c.Title())
		switch c.Verdict {
		case record.NotRun:
			out.Cases = append(out.Cases, junitCase{Name: "case", Class: class, Time: "0", Error: &junitProblem{Message: xmlText(c.Why), Type: c.Verdict}})
			continue
		case record.Skipped:
			out.Cases = append(out.Cases, junitCase{Name: "case", Class: class, Time: "0", Skipped: &struct{}{}})
			continue
		}
		for j := range c.Checks {
			t := junitCheck(&c.Checks[j])
			t.Class, t.Time = class, "0"
			if j == 0 {
				t.Time = seconds(c.LengthNS)
			}
			out.Cases = append(out.Cases, t)
		}
	}
	out.Time = seconds(driven)
	return out
}

// junitCheck returns a check's part.
func junitCheck(c *record.Check) junitCase {
	name := c.Name
	if c.Step != "" {
		name += ", in " + c.Step
	}
	t := junitCase{Name: xmlToken(name)}
	problem := &junitProblem{Message: xmlText(c.Why), Type: c.Verdict, Text: xmlText(Details(c))}
	switch c.Verdict {
	case record.Fail:
		t.Failure = problem
	case record.NotAsked:
		t.Skipped = &struct{}{}
	case record.Pass, record.MeasuredOnly:
	default:
		t.Error = problem
	}
	return t
}

// count sets the counts of a suite from its tests.
func (s *junitSuite) count() {
	s.Tests = len(s.Cases)
	for i := range s.Cases {
		switch c := &s.Cases[i]; {
		case c.Failure != nil:
			s.Failures++
		case c.Error != nil:
			s.Errors++
		case c.Skipped != nil:
			s.Skipped++
		}
	}
}

// Details says in lines what a check measured, what it was held against, where it stands and what
// its file says there.
func Details(c *record.Check) string {
	var lines []string
	if c.Measured() {
		line := c.Quantity + ": " + Measured(c)
		if limit := Limit(c); limit != "" {
			line += ", wanted " + limit
		}
		lines = append(lines, line)
	}
	lines = append(lines, fmt.Sprintf("%s:%d", c.File, c.Line))
	if c.Excerpt != "" {
		lines = append(lines, c.Excerpt)
	}
	return strings.Join(lines, "\n")
}

// seconds writes a time in ns as seconds.
func seconds(ns int64) string { return fmt.Sprintf("%.3f", float64(ns)/1e9) }

// xmlText leaves out of a text what XML 1.0 cannot have (its section 2.2), and what turns the
// order of letters.
func xmlText(text string) string {
	return strings.Map(func(r rune) rune {
		switch {
		case r == '\n' || r == '\t':
			return r
		case r < ' ', r == unicode.ReplacementChar, r == 0xfffe, r == 0xffff, unicode.Is(unicode.Bidi_Control, r):
			return -1
		}
		return r
	}, text)
}

// xmlToken writes a text in one line with single blanks, and never empty.
func xmlToken(text string) string {
	text = strings.Join(strings.Fields(xmlText(text)), " ")
	if text == "" {
		return "unnamed"
	}
	return text
}
