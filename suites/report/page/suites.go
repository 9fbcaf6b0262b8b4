package page

import (
	"html/template"
	"strings"

	"hilrig/suites/record"
	"hilrig/suites/report"
)

// suiteView is a suite as it is shown.
type suiteView struct {
	Name, About, File string
	Class, Verdict    string
	Counts            string
	Groups            []groupView
	Unplayed          []string
	Timing            string
	Pictures          []picture
}

// groupView is the variants of one case as they are shown.
type groupView struct{ Name, Cases, Checks, Verdict, Class, Figure string }

// picture is a plot with its words.
type picture struct {
	Title   string
	Plot    template.HTML
	Caption string
	Wide    bool
}

// suites returns the suites as they are shown.
func (p *Page) suites() (views []*suiteView) {
	for i := range p.of.Result.Suites {
		s := &p.of.Result.Suites[i]
		played, left := report.Groups(s)
		v := &suiteView{Name: s.Name, About: s.About, File: s.File, Verdict: s.Counts.Worst(), Timing: report.TimingCost(s.Timing)}
		v.Class = class(v.Verdict)
		v.Counts = countsOf(&s.Counts)
		for _, g := range played {
			v.Groups = append(v.Groups, groupView{
				g.Name, number(g.Counts.Cases), number(len(g.Checks)), g.Counts.Worst(), class(g.Counts.Worst()), g.Figure(),
			})
		}
		for _, u := range left {
			v.Unplayed = append(v.Unplayed, report.Count(u.Cases, "case")+": "+u.Reason)
		}
		v.Pictures = p.pictures(i)
		views = append(views, v)
	}
	return views
}

// countsOf writes what the checks of a suite came to.
func countsOf(n *record.Counts) string {
	parts := []string{report.Count(n.Cases, "case"), report.Count(n.Pass, "check") + " passed"}
	for _, more := range []struct {
		n    int
		what string
	}{{n.Fail, "failed"}, {n.Undecided, record.Undecided}, {n.NotAsked, record.NotAsked}} {
		if more.n > 0 {
			parts = append(parts, number(more.n)+" "+more.what)
		}
	}
	if n.NotRun > 0 {
		parts = append(parts, report.Count(n.NotRun, "case")+" not played")
	}
	return strings.Join(parts, ", ")
}

// pictures returns what is drawn of a suite, in the order of what a reader asks first.
func (p *Page) pictures(suite int) (all []picture) {
	s := &p.of.Result.Suites[suite]
	for _, of := range []func(*record.Suite, int) []picture{p.splits, p.responses, p.losses, p.timelines, p.sweeps, p.drives} {
		all = append(all, of(s, suite)...)
	}
	return all
}
