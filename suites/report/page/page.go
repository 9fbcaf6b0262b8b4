// Package page shows what a run left behind as one HTML page: [Of] a record, with cases played again
// for [Page.Take] where that can be done, written by [Page.Write]. Of a run in real time, which cannot be played again, the
// moments are those that the record keeps.
//
// [OfComparison] shows two runs that were held against each other by package compare: what changed under its cause, and both
// runs' commands along a case laid over each other.
//
// The page refers to nothing outside itself, has no script, and can be read light, dark, printed and on a
// phone. All that it says comes from the record; numbers are written as everywhere, by package report.
// Whatever a record, a suite or a car says is text, never markup.
//
// # Units
//
// Times in s of the run, as the record has them. Commands in % of range, rates in deg/s.
package page

import (
	"embed"
	"errors"
	"fmt"
	"html/template"
	"io"
	"io/fs"
	"strings"
	"unicode/utf8"

	"hilrig/suites/record"
	"hilrig/suites/report"
	"hilrig/suites/report/faults"
)

//go:embed page.gohtml page.css compared.gohtml
var files embed.FS

// Settings say what a page has beside the record. The zero value is of use.
type Settings struct {
	// Faults is what the seeded faults make of the standard suites; nil: nothing is known of it.
	Faults *faults.Table
}

// Page is a page under way.
type Page struct {
	of          *record.Record
	settings    Settings
	groups      []alike // of what failed or stayed open
	along       map[place]*record.Along
	lacking     string // why commands along cases are not at hand
	notReplayed string // why cases could not be played again; empty: they could, or nobody tried
}

// place is a case's place in the plan, counted from 0.
type place struct{ suite, index int }

// Of begins the page of a record.
func Of(r *record.Record, s Settings) *Page {
	p := &Page{of: r, settings: s, along: map[place]*record.Along{}}
	err := fs.ErrNotExist
	if r.Folder != "" {
		err = record.Alongs(r.Folder, func(suite, index int, a *record.Along) { p.along[place{suite, index}] = a })
	}
	if err != nil {
		p.lacking = "The record keeps nothing of what was played and commanded along its cases."
		if !errors.Is(err, fs.ErrNotExist) {
			p.lacking = "What was played and commanded along the cases cannot be read: " + err.Error() + "."
		}
	}
	p.groups = failuresOf(r.Result)
	p.takeKept()
	return p
}

// view is what the template is filled with.
type view struct {
	Style   template.CSS
	Title   string
	Top     *top
	Failed  []*alikeView
	Left    string // what of the failures is not plotted
	Folded  bool   // parts are folded as the page is opened
	Suites  []*suiteView
	Lacking string
	Stand   *standView
	Run     *runView
}

// Write writes the page.
func (p *Page) Write(w io.Writer) error {
	sheet, err := template.ParseFS(files, "page.gohtml")
	if err != nil {
		return err
	}
	v := &view{Top: p.top(), Run: p.run(), Lacking: p.lacking}
	if v.Style, err = styleOf(v.Top.Outcome); err != nil {
		return err
	}
	v.Title = fmt.Sprintf("%s: %s", v.Top.Outcome, v.Top.Of)
	if report.OfStand(p.of.Result) {
		v.Stand, v.Lacking = p.stand(), ""
	} else {
		v.Failed, v.Left = p.failed()
		v.Suites = p.suites()
		v.Folded = len(p.failures()) > mostUnfolded || p.long()
	}
	return sheet.Execute(w, v)
}

// styleOf returns the style of a page, in which its outcome is as large as its longest word lets it be.
func styleOf(outcome string) (template.CSS, error) {
	style, err := files.ReadFile("page.css")
	longest := 1
	for word := range strings.FieldsSeq(outcome) {
		longest = max(longest, utf8.RuneCountInString(word))
	}
	return template.CSS(fmt.Sprintf("%s:root { --letters: %d; }", style, longest)), err
}
