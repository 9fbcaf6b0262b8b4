package page

import (
	"fmt"
	"html/template"
	"slices"
	"strings"

	"hilrig/suites/record"
	"hilrig/suites/report"
)

// suiteView is a suite as it is shown.
type suiteView struct {
	Name, About, File string
	Class, Verdict    string
	Counts, Closest   string
	Open              bool // its table and its pictures are unfolded
	Groups            []groupView
	Unplayed          []string
	Timing            string
	Pictures          []picture
	Titles            string // of the first pictures
}

// A run of more cases than mostOpen has the tables and pictures of its suites folded as the page is opened, whose
// first titles, mostTitles, tell what there is.
const (
	mostOpen   = 30
	mostTitles = 3
)

// long says whether there is more of the suites than is read from its beginning to its end.
func (p *Page) long() bool {
	cases := 0
	for i := range p.of.Result.Suites {
		cases += len(p.of.Result.Suites[i].Cases)
	}
	return cases > mostOpen
}

// groupView is the variants of one case as they are shown.
type groupView struct{ Name, Cases, Checks, Verdict, Class, Figure string }

// picture is a plot with its words.
type picture struct {
	Title   string
	Plot    template.HTML
	Caption string
	Rows    int // of other pictures beside it that it is as high as, at least 1
}

// suites returns the suites as they are shown.
func (p *Page) suites() (views []*suiteView) {
	for i := range p.of.Result.Suites {
		s := &p.of.Result.Suites[i]
		played, left := report.Groups(s)
		v := &suiteView{Name: s.Name, About: s.About, File: s.File, Verdict: s.Counts.Worst(), Timing: report.TimingCost(s.Timing)}
		if !slices.ContainsFunc(s.Cases, func(c record.Case) bool { return c.Verdict == record.NotRun }) {
			v.Verdict = s.Counts.Played().Worst() // what was skipped is of another bench, and is listed
		}
		v.Class, v.Open = class(v.Verdict), !p.long()
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
		v.Titles = titles(v.Pictures)
		if whole := wholeOf(played); v.Verdict == record.Pass && len(played) > 1 {
			v.Closest = whole.Figure()
		}
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

// wholeOf puts groups together.
func wholeOf(groups []*report.Group) *report.Group {
	whole := &report.Group{}
	for _, g := range groups {
		whole.Counts.Pass += g.Counts.Pass
		whole.Checks = append(whole.Checks, g.Checks...)
	}
	return whole
}

// titles names the first pictures.
func titles(all []picture) string {
	var names []string
	for i := range all {
		if i == mostTitles {
			names = append(names, fmt.Sprintf("%d more", len(all)-i))
			break
		}
		names = append(names, all[i].Title)
	}
	return strings.Join(names, "; ")
}
