package page

import (
	"hilrig/suites/record"
	"hilrig/suites/report"
)

// standView is what the page says of a speed controller.
type standView struct {
	Unmet  []standRow
	Held   []heldView
	Forms  []string // what lies beside, to be opened instead
	Folder string
}

// standRow is a figure as it is shown.
type standRow struct{ Name, Verdict, Class, Says string }

// heldView is the figures under one condition.
type heldView struct {
	Title string
	Rows  []standRow
	Apart []string // what was not measured, and why
	Same  bool
}

// stand returns what the page says of a speed controller: its figures. Pictures are in the record's own folder.
func (p *Page) stand() *standView {
	v := &standView{Forms: record.Forms(p.of.Folder), Folder: p.of.Folder}
	for _, u := range report.UnmetFigures(p.of.Result) {
		v.Unmet = append(v.Unmet, standRow{u.Name, u.Verdict, class(u.Verdict), u.Where() + ": " + u.Says()})
	}
	for _, h := range report.HeldConditions(p.of.Result) {
		one := heldView{Title: h.Title(), Same: h.Same}
		for _, k := range h.Shown {
			says := report.Measured(k)
			if l := report.Limit(k); l != "" {
				says += "; " + l
			}
			one.Rows = append(one.Rows, standRow{report.FigureName(k.Name), k.Verdict, class(k.Verdict), says})
		}
		for _, u := range h.Unmeasured {
			for _, name := range u.Names {
				one.Apart = append(one.Apart, name+": "+u.Why)
			}
		}
		v.Held = append(v.Held, one)
	}
	return v
}
