package page

import (
	"encoding/base64"
	"html/template"
	"path"
	"strings"

	"hilrig/suites/record"
	"hilrig/suites/report"
)

// standView is what the page says of a speed controller.
type standView struct {
	Unmet  []standRow
	Held   []heldView
	Drawn  []formView
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

// formView is a picture that the record keeps as a file.
type formView struct {
	Title, About string
	Plot         template.URL
}

// largestForm is how large such a picture is at most, in bytes.
const largestForm = 1 << 20

// drawnForms returns the pictures that the record keeps as files, each in the place of an image, where nothing
// that such a file may hold is run or fetched.
func (p *Page) drawnForms() (all []formView) {
	for _, name := range record.Forms(p.of.Folder) {
		if path.Ext(name) != ".svg" {
			continue
		}
		data, err := record.ReadForm(p.of.Folder, name, largestForm+1)
		if err != nil || len(data) > largestForm {
			continue
		}
		title := "Characteristic"
		if number, ok := strings.CutPrefix(strings.TrimSuffix(name, ".svg"), "characteristic-"); ok {
			title += " " + number
		}
		all = append(all, formView{title, "Output over throttle, up and down, with straight lines and what is left beside them: " + name + " of the record",
			template.URL("data:image/svg+xml;base64," + base64.StdEncoding.EncodeToString(data))}) // letters, digits, + / and = alone
	}
	return all
}

// stand returns what the page says of a speed controller: its figures and characteristics. The rest is in the
// record's own folder.
func (p *Page) stand() *standView {
	v := &standView{Drawn: p.drawnForms(), Forms: record.Forms(p.of.Folder), Folder: p.of.Folder}
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
