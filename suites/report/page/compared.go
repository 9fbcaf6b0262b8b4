package page

import (
	"bytes"
	"fmt"
	"html/template"
	"io"
	"slices"
	"strings"
	"unicode"

	"hilrig/suites/record"
	"hilrig/suites/report"
	"hilrig/suites/report/compare"
)

// Compared is the page of two records that were held against each other.
type Compared struct {
	of    *compare.Comparison
	runs  [2]*compare.Run // before, after
	drawn int             // pictures of cases so far
}

// OfComparison begins the page of what came of comparing two runs.
func OfComparison(c *compare.Comparison, before, after *compare.Run) *Compared {
	return &Compared{of: c, runs: [2]*compare.Run{before, after}}
}

// comparedView is what the template is filled with.
type comparedView struct {
	Style              template.CSS
	Title              string
	Outcome, Class     string
	Why                string
	Cautions           []string
	Changed            []string
	Runs               [][3]string // name, before, after
	Causes, Alone      []*changesView
	Shrinking          []shrinkingRow
	Counts             []string
	Level, Ways, Along string
}

// changesView is what follows from a cause, or is of one kind and follows from none.
type changesView struct {
	ID, Kind, Class, Title, Says string
	Rows                         []changeRow
	More                         int
	Pictures                     []picture
}

// changeRow is a change as it is shown.
type changeRow struct {
	Kind, Class, Where, Of, Says, Room, Why string
	More                                    int // other cases and steps of the suite in which the same came of the check
}

// shrinkingRow is a check that passes with less room.
type shrinkingRow struct {
	Where, Of, Room string
	More            int
}

// Write writes the page.
func (p *Compared) Write(w io.Writer) error {
	sheet, err := template.ParseFS(files, "compared.gohtml")
	if err != nil {
		return err
	}
	v := &comparedView{
		Changed: p.of.Changed, Cautions: p.cautions(), Runs: p.facts(),
		Level: p.of.Level.Says(), Ways: compare.Ways, Along: alongSays(p.of.Alongs),
	}
	v.Outcome, v.Class = outcomeOf(p.of)
	if v.Style, err = styleOf(v.Outcome); err != nil {
		return err
	}
	v.Title = fmt.Sprintf("%s: %s, compared with %s", v.Outcome, named(p.runs[1].Record.Result.Board), p.of.Before)
	p.drawn = 0
	v.Causes, v.Alone = p.causes(), p.alone()
	for _, k := range compare.Kinds {
		if n := p.of.Counts[k]; n > 0 {
			v.Counts = append(v.Counts, fmt.Sprintf("%d %s", n, k))
		}
	}
	v.Why = p.why()
	for _, s := range p.of.Shrinking() {
		v.Shrinking = append(v.Shrinking, shrinkingRow{s.Where(), s.Of(), s.Room(), s.More})
	}
	var text bytes.Buffer
	if err := sheet.Execute(&text, v); err != nil {
		return err
	}
	_, err = w.Write(bytes.Map(seen, text.Bytes()))
	return err
}

// seen leaves out what of a page is no letter: control characters, which its form forbids, and marks that turn the
// direction of writing.
func seen(c rune) rune {
	if c != '\n' && (unicode.IsControl(c) || unicode.Is(unicode.Cf, c)) {
		return -1
	}
	return c
}

// outcomeOf returns the word that stands on top, and its class.
func outcomeOf(c *compare.Comparison) (word, class string) {
	switch c.Exit() {
	case 1:
		return "WORSE", record.Fail
	case 2:
		return record.NotShown, "open"
	}
	if len(c.Causes)+len(c.Changes) == 0 {
		return "SAME", record.Pass
	}
	return "NOT WORSE", record.Pass
}

// classOf returns the class of what came of a check in the style sheet.
func classOf(k compare.Kind) string {
	switch k {
	case compare.NewlyFailing, compare.Worse:
		return record.Fail
	case compare.Better, compare.PassesNow, compare.JudgedNow:
		return record.Pass
	}
	return "open"
}

// why says in a line what changed.
func (p *Compared) why() string {
	var parts []string
	for i := range p.of.Causes {
		k := &p.of.Causes[i]
		parts = append(parts, fmt.Sprintf("%s %s, from which %s", k.Name, k.Says(), follow(k.Follows)))
	}
	alone := map[compare.Kind]int{}
	for i := range p.of.Changes {
		if x := &p.of.Changes[i]; x.Follows == "" {
			alone[x.Kind]++
		}
	}
	var kinds []string
	for _, k := range compare.Kinds {
		if alone[k] > 0 {
			kinds = append(kinds, fmt.Sprintf("%d %s", alone[k], k))
		}
	}
	switch {
	case len(kinds) > 0 && len(parts) > 0:
		parts = append(parts, strings.Join(kinds, ", ")+", which no cause explains")
	case len(kinds) > 0:
		parts = append(parts, strings.Join(kinds, ", "))
	case len(parts) == 0 && len(p.of.Changed) > 0:
		parts = append(parts, "not all can be compared")
	case len(parts) == 0:
		parts = append(parts, "no check differs beyond what both measurements leave open")
	}
	return strings.Join(parts, "; ")
}

// follow says how many changes follow from a cause.
func follow(n int) string {
	if n == 1 {
		return "1 change follows"
	}
	return report.Count(n, "change") + " follow"
}

// cautions returns what a person has to keep in mind of runs on a real bench, each sentence once.
func (p *Compared) cautions() (all []string) {
	for _, r := range p.runs {
		for _, text := range (&Page{of: r.Record}).cautions() {
			if !slices.Contains(all, text) {
				all = append(all, text)
			}
		}
	}
	return all
}

// facts returns what both runs were, where either says it.
func (p *Compared) facts() (rows [][3]string) {
	add := func(name string, of func(r *record.Record) string) {
		if row := [3]string{name, of(p.runs[0].Record), of(p.runs[1].Record)}; row[1] != "" || row[2] != "" {
			rows = append(rows, row)
		}
	}
	add("record", func(r *record.Record) string { return r.Folder })
	add("outcome", func(r *record.Record) string { return r.Result.Outcome })
	add("label", func(r *record.Record) string { return r.Result.Label })
	add("firmware", func(r *record.Record) string { return r.Result.Firmware })
	add("board", func(r *record.Record) string { return named(r.Result.Board) })
	add("car", func(r *record.Record) string { return named(r.Result.Car) })
	add("bench", func(r *record.Record) string { return named(r.Result.Bench) })
	add("bench played on", func(r *record.Record) string { return r.Result.Real })
	add("seed", func(r *record.Record) string { return fmt.Sprint(r.Result.Seed) })
	add("began", func(r *record.Record) string { return r.Host.Began })
	add("program", func(r *record.Record) string { return r.Host.Program })
	return rows
}

// alongSays says in how many cases the commands were compared.
func alongSays(cases int) string {
	if cases == 0 {
		return ""
	}
	return fmt.Sprintf("In %s both played the same; there the commands were compared all along.", report.Count(cases, "case"))
}

// causes returns each cause with what follows from it.
func (p *Compared) causes() (all []*changesView) {
	for i := range p.of.Causes {
		k := &p.of.Causes[i]
		v := &changesView{ID: fmt.Sprintf("cause-%d", i), Kind: string(k.Kind), Class: classOf(k.Kind), Title: k.Name, Says: k.Says()}
		p.list(v, func(x *compare.Change) bool { return x.Follows == k.Name })
		all = append(all, v)
	}
	return all
}

// alone returns what follows from no cause, kind by kind.
func (p *Compared) alone() (all []*changesView) {
	for i, k := range compare.Kinds {
		v := &changesView{ID: fmt.Sprintf("kind-%d", i), Kind: string(k), Class: classOf(k)}
		p.list(v, func(x *compare.Change) bool { return x.Follows == "" && x.Kind == k })
		if len(v.Rows) > 0 {
			all = append(all, v)
		}
	}
	return all
}

// list puts the changes that are wanted into a part of the page, the gravest first, with pictures of some.
func (p *Compared) list(v *changesView, want func(x *compare.Change) bool) {
	var all []*compare.Change
	for _, k := range compare.Kinds {
		for i := range p.of.Changes {
			if x := &p.of.Changes[i]; x.Kind == k && want(x) {
				all = append(all, x)
			}
		}
	}
	groups := grouped(all)
	for i, g := range groups {
		if i == mostRows {
			v.More = len(groups) - i
			break
		}
		x := g.Change
		row := changeRow{Kind: string(x.Kind), Class: classOf(x.Kind), Where: x.Where(), Of: x.Of(), Says: x.Says(), Why: x.Why, More: g.more}
		if x.RoomBefore != nil && x.RoomAfter != nil {
			row.Room = x.Room()
		}
		v.Rows = append(v.Rows, row)
	}
	// Each of those that are listed is drawn before another case of the same.
	var first, rest []*compare.Change
	for _, x := range all {
		if slices.ContainsFunc(groups, func(g *changeGroup) bool { return g.Change == x }) {
			first = append(first, x)
		} else {
			rest = append(rest, x)
		}
	}
	v.Pictures = p.pictures(append(first, rest...))
}

// changeGroup is one check of a suite in all cases in which the same came of it, the first of them shown.
type changeGroup struct {
	*compare.Change
	more int
}

// grouped puts together what is of one kind and one check of a suite.
func grouped(all []*compare.Change) (groups []*changeGroup) {
	known := map[[3]string]*changeGroup{}
	for _, x := range all {
		of := [3]string{string(x.Kind), x.Suite, x.Check}
		if g := known[of]; g != nil {
			g.more++
			continue
		}
		known[of] = &changeGroup{Change: x}
		groups = append(groups, known[of])
	}
	return groups
}
