package page

import (
	"fmt"
	"html/template"
	"slices"
	"strings"

	"hilrig/suites/record"
	"hilrig/suites/report"
	"hilrig/suites/report/faults"
)

// mostReplayed is of how many failures the moment is had again, frame by frame; mostPlotted of how
// many it is plotted at all, mostRows how many variants of one are listed, and mostFaults how many seeded
// faults are named that make one fail. Where there are more failures than mostUnfolded, groups are folded but for the
// first failure of the first one.
const (
	mostReplayed = 10
	mostPlotted  = 30
	mostRows     = 40
	mostFaults   = 5
	mostUnfolded = 8
)

// failure is what failed or stayed open, with the check whose moment is shown.
type failure struct {
	*report.Failure
	turn    int   // the how-manieth it is to be plotted, from 0
	place   place // of the variant that is shown
	variant string
	shown   *record.Check
	close   *record.Moment // the moment frame by frame; nil: it is not at hand
	from    string         // where that is from
	lacks   string         // why it is not at hand, where that is to be said
}

// failuresOf collects what failed or stayed open by groups of like failures, each with the first of its variants that has a
// moment. The first of each group are plotted before any other, then the second of each.
func failuresOf(r *record.Result) (groups []alike) {
	places := map[*record.Check]place{}
	for i := range r.Suites {
		for j := range r.Suites[i].Cases {
			c := &r.Suites[i].Cases[j]
			for k := range c.Checks {
				places[&c.Checks[k]] = place{i, j}
			}
		}
	}
	for _, g := range report.AllAlike(report.Failures(r)) {
		like := alike{head: g.Head()}
		for _, f := range g.Failures {
			one := &failure{Failure: f}
			for _, row := range f.Rows {
				if row.Check.AtNS > 0 {
					one.shown, one.place, one.variant = row.Check, places[row.Check], row.Variant
					break
				}
			}
			like.failures = append(like.failures, one)
		}
		groups = append(groups, like)
	}
	turn := 0
	for i, left := 0, true; left; i++ {
		left = false
		for _, g := range groups {
			if i < len(g.failures) {
				g.failures[i].turn, left = turn, true
				turn++
			}
		}
	}
	return groups
}

// alike is a group of like failures.
type alike struct {
	head     string
	failures []*failure
}

// failures returns what failed or stayed open, group by group.
func (p *Page) failures() (all []*failure) {
	for _, g := range p.groups {
		all = append(all, g.failures...)
	}
	return all
}

// alikeView is a group of like failures as it is shown.
type alikeView struct {
	Verdict, Class, Head string
	Open                 bool // unfolded
	Failures             []*failureView
	Others               []*failureView // folded together
	More                 string         // how many those are
}

// failureView is a failure as it is shown.
type failureView struct {
	Open               bool // unfolded
	Verdict, Class     string
	Check, Limit       string
	Suite, Case, Place string
	Excerpt            string
	Rows               []rowView
	More               string // of rows that are left out
	Apart              bool   // limits differ between the rows
	Whys               []string
	Faults             string // seeded, that make it fail
	Plot               template.HTML
	Caption, Unplotted string
}

// rowView is one variant of a failure.
type rowView struct{ Variant, Quantity, Measured, Limit, Where string }

// failed returns what failed or stayed open as it is shown, and what is to say of plots left out.
func (p *Page) failed() (views []*alikeView, left string) {
	plotted, all := false, len(p.failures())
	for i, g := range p.groups {
		group := &alikeView{Verdict: strings.ToUpper(g.failures[0].Verdict), Class: class(g.failures[0].Verdict), Head: g.head, Open: i == 0 || all <= mostUnfolded}
		for j, f := range g.failures {
			v := p.failureView(f)
			v.Open = j == 0 || all <= mostUnfolded
			plotted = plotted || v.Plot != ""
			if v.Open {
				group.Failures = append(group.Failures, v)
			} else {
				group.Others = append(group.Others, v)
			}
		}
		group.More = fmt.Sprintf("%d more like it", len(group.Others))
		views = append(views, group)
	}
	if n := all - mostPlotted; n > 0 && plotted {
		left = fmt.Sprintf("The moments of %d are plotted, of each group those of the first ones; %d more are listed without.", mostPlotted, n)
	}
	return views, left
}

// failureView returns a failure as it is shown, with its plot where it has one.
func (p *Page) failureView(f *failure) *failureView {
	v := f.view()
	v.Suite = p.of.Result.Suites[f.place.suite].Name
	if p.settings.Faults != nil {
		v.Faults = faults.Names(p.settings.Faults.Failing(f.Failure), mostFaults)
	}
	switch {
	case f.shown == nil:
		v.Unplotted = "No moment is known."
	case f.turn < mostPlotted:
		if v.Plot, v.Caption = p.moment(f); v.Plot == "" {
			v.Unplotted = f.lacks
		}
	}
	return v
}

// view returns the failure as it is shown, without its plot.
func (f *failure) view() *failureView {
	v := &failureView{
		Verdict: strings.ToUpper(f.Verdict), Class: class(f.Verdict), Check: f.Check, Limit: f.CommonLimit(), Case: f.Case,
		Place: fmt.Sprintf("%s:%d", f.File, f.Line), Excerpt: strings.TrimRight(f.Excerpt, "\n"), Whys: f.Whys(),
	}
	v.Apart = v.Limit == "" && slices.ContainsFunc(f.Rows, func(r report.Row) bool { return report.Limit(r.Check) != "" })
	for i, row := range f.Rows {
		if i == mostRows {
			v.More = report.Count(len(f.Rows)-i, "more variant")
			break
		}
		v.Rows = append(v.Rows, rowView{row.Variant, row.Check.Quantity, report.Measured(row.Check), report.Limit(row.Check), report.Where(row.Check)})
	}
	return v
}
