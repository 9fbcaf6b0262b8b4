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
// faults are named that make one fail.
const (
	mostReplayed = 10
	mostPlotted  = 30
	mostRows     = 40
	mostFaults   = 5
)

// failure is what failed or stayed open, with the check whose moment is shown.
type failure struct {
	*report.Failure
	place   place // of the variant that is shown
	variant string
	shown   *record.Check
	close   *closeUp // the moment frame by frame; nil: not had again
}

// failuresOf collects what failed or stayed open, each with the first of its variants that has a moment.
func failuresOf(r *record.Result) []*failure {
	places := map[*record.Check]place{}
	for i := range r.Suites {
		for j := range r.Suites[i].Cases {
			c := &r.Suites[i].Cases[j]
			for k := range c.Checks {
				places[&c.Checks[k]] = place{i, j}
			}
		}
	}
	var all []*failure
	for _, f := range report.Failures(r) {
		one := &failure{Failure: f}
		for _, row := range f.Rows {
			if row.Check.AtNS > 0 {
				one.shown, one.place, one.variant = row.Check, places[row.Check], row.Variant
				break
			}
		}
		all = append(all, one)
	}
	return all
}

// failureView is a failure as it is shown.
type failureView struct {
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
func (p *Page) failed() (views []*failureView, left string) {
	plotted := false
	for i, f := range p.failures {
		v := f.view()
		v.Suite = p.of.Result.Suites[f.place.suite].Name
		if p.settings.Faults != nil {
			v.Faults = faults.Names(p.settings.Faults.Failing(f.Failure), mostFaults)
		}
		switch {
		case f.shown == nil:
			v.Unplotted = "No moment is known."
		case i >= mostPlotted:
		default:
			v.Plot, v.Caption = p.moment(f)
			plotted = plotted || v.Plot != ""
		}
		views = append(views, v)
	}
	if n := len(p.failures) - mostPlotted; n > 0 && plotted {
		left = fmt.Sprintf("The moments of the first %d are plotted; %d more are listed without.", mostPlotted, n)
	}
	return views, left
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
