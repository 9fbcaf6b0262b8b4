package suites

import (
	"slices"

	"hilrig/assertions"
	"hilrig/assertions/law"
	"hilrig/suites/file"
	"hilrig/suites/record"
)

// List is what a run would play.
type List struct {
	Suites   []ListedSuite `json:"suites"`
	NotAsked []record.Note `json:"not_asked,omitempty"` // policy keys that the car file leaves out, and parts of others that no check asks
}

// ListedSuite is one suite of a list.
type ListedSuite struct {
	Name     string        `json:"name"`      // as the file gives it
	About    string        `json:"about"`     // as the file gives it, a sentence
	File     string        `json:"file"`      // its path; standard/NAME.yaml of a standard suite
	DrivingS float64       `json:"driving_s"` // with power-up
	Longest  string        `json:"longest"`   // its longest case, in words
	Cases    []ListedCase  `json:"cases"`
	NotAsked []record.Note `json:"not_asked,omitempty"` // situations that the policy says nothing about
}

// ListedCase is one case of a list with all its variants.
type ListedCase struct {
	Name     string   `json:"name"`     // as the file gives it
	Line     int      `json:"line"`     // in the suite's file
	Variants []string `json:"variants"` // one empty word where there is no each
	// Points say of each variant what its points of the policy come to; left out where it writes none.
	Points   []string `json:"points,omitempty"`
	DrivingS float64  `json:"driving_s"`         // of all its variants together, in s
	Policy   []string `json:"policy"`            // situations that are asked, each once
	ByHand   int      `json:"by_hand"`           // expectations that the suite writes by hand
	Skipped  string   `json:"skipped,omitempty"` // why it would not be played
}

// List returns what a run of the setup would play. Nothing is played.
func (s *Setup) List() *List {
	plan := s.Plan()
	l := &List{NotAsked: plan.NotAsked}
	for _, suite := range s.Suites {
		out := ListedSuite{Name: suite.Name, About: suite.About, File: suite.Source.Path, DrivingS: s.SuiteLength(suite).Seconds(), Longest: file.LongestOf(suite, s.Bench)}
		for i := range suite.Cases {
			out.add(s, suite, &suite.Cases[i])
		}
		l.Suites = append(l.Suites, out)
	}
	return l
}

// add takes in one expanded case.
func (l *ListedSuite) add(setup *Setup, suite *file.Suite, c *file.Case) {
	n := len(l.Cases)
	if n == 0 || l.Cases[n-1].Line != c.Place.Line {
		l.Cases = append(l.Cases, ListedCase{Name: c.Name, Line: c.Place.Line, Policy: []string{}})
		n++
		l.expect(&l.Cases[n-1], &setup.Car.Policy, c)
	}
	out := &l.Cases[n-1]
	out.Variants = append(out.Variants, c.Variant)
	if c.Points != "" {
		out.Points = append(out.Points, c.Points)
	}
	if c.NoPoint != "" {
		l.note(c.Name, c.NoPoint)
	}
	if c.UpTo < setup.Bench.Power {
		out.Skipped = "may be played up to " + c.UpTo.String()
		return
	}
	if c.Asked() {
		out.DrivingS += setup.Length(suite, c).Seconds()
	}
}

// expect sorts a case's expectations into those of the policy, those by hand
// and those that are not asked.
func (l *ListedSuite) expect(out *ListedCase, policy *law.Policy, c *file.Case) {
	for i := range c.Expect {
		x := &c.Expect[i]
		branch, ofPolicy := x.Check.(assertions.PolicyBranch)
		switch {
		case x.NotAsked != "" && ofPolicy:
			l.note(branch.Of, x.NotAsked)
		case x.NotAsked != "":
			l.note(x.Title(), x.NotAsked)
		case !ofPolicy:
			out.ByHand++
		default:
			// Without steps a situation can tell one thing: that the policy does not speak of it.
			if planned := assertions.Plan(branch, &assertions.Evidence{Policy: policy}); len(planned) == 1 && !planned[0].Asked {
				l.note(branch.Of, planned[0].Why)
			} else if !slices.Contains(out.Policy, branch.Of) {
				out.Policy = append(out.Policy, branch.Of)
			}
		}
	}
}

// note takes in once why something is not asked.
func (l *ListedSuite) note(key, why string) {
	if note := (record.Note{Key: key, Text: why}); !slices.Contains(l.NotAsked, note) {
		l.NotAsked = append(l.NotAsked, note)
	}
}
