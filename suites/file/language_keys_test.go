package file

import (
	"fmt"
	"slices"
	"strings"

	"hilrig/suites/language"
)

// page is the page of the language as it is written.
type page struct {
	strings.Builder
	done map[*language.Table]bool
}

// tables writes a table and then those that its keys refer to.
func (p *page) tables(t *language.Table) {
	p.done[t] = true
	if t.Doc != "" {
		fmt.Fprintf(p, "%s\n\n", sentence(t.Doc))
	}
	p.keys(t)
	for i := range t.Keys {
		k := &t.Keys[i]
		if k.Kind != language.Group {
			continue
		}
		for _, next := range tablesAt(k) {
			if !p.done[next] {
				fmt.Fprintf(p, "\n<a id=%q></a>\n\n### %s\n\n", next.Slug(), heading(next.Name))
				p.tables(next)
			}
		}
	}
}

// heading begins with a capital.
func heading(name string) string { return strings.ToUpper(name[:1]) + name[1:] }

// sentence begins with a capital and ends with a full stop.
func sentence(doc string) string { return heading(strings.TrimSuffix(doc, ".")) + "." }

// tablesAt lists the tables that may stand at a key, each once.
func tablesAt(k *language.Key) []*language.Table {
	var all []*language.Table
	if k.Table != nil {
		all = append(all, k.Table)
	}
	for _, f := range k.Forms {
		if !slices.Contains(all, f.Table) {
			all = append(all, f.Table)
		}
	}
	return all
}

// keys writes one table's keys.
func (p *page) keys(t *language.Table) {
	p.WriteString("| key | value | left out | meaning |\n|---|---|---|---|\n")
	for i := range t.Keys {
		k := &t.Keys[i]
		doc, says := leftOut(k)
		if says == "" {
			says = whereLeftOut(t, k)
		}
		fmt.Fprintf(p, "| `%s` | %s | %s | %s |\n", k.Name, cell(kindsAt(k)), cell(says), cell(doc))
	}
	fmt.Fprintf(p, "\nLike `%s`.\n", t.Sample())
}

// cell keeps text within its column.
func cell(text string) string { return strings.ReplaceAll(text, "|", "\\|") }

// leftOut takes apart what a key means and what holds where it is left out.
func leftOut(k *language.Key) (doc, otherwise string) {
	doc, otherwise, found := strings.Cut(k.Doc, "left out: ")
	doc = strings.TrimRight(doc, "; ")
	switch {
	case k.Required:
		return k.Doc, "needed"
	case !found:
		return doc, ""
	}
	return doc, otherwise
}

// kindsAt says in words what may stand at a key.
func kindsAt(k *language.Key) string {
	one := kindAt(k)
	switch k.Many {
	case language.List:
		return "a list, each " + one
	case language.OneOrList:
		return one + ", or a list"
	case language.Pair:
		return "two, the lower first: " + one
	case language.Two:
		return "two: " + one
	}
	return one
}

// kindAt says in words what one value at a key is.
func kindAt(k *language.Key) string {
	var ways []string
	switch k.Kind {
	case language.Text:
		return "text"
	case language.Flag:
		return "`yes` or `no`"
	case language.Whole:
		return "a whole number, " + k.Bounds()
	case language.Measure:
		ways = append(ways, numberAt(k))
	case language.Point:
		return "`[time, value]`"
	case language.Pin:
		return "`GPIO2` to `GPIO27`"
	}
	for _, word := range k.Words {
		ways = append(ways, "`"+word+"`")
	}
	if k.Kind == language.Measure && slices.ContainsFunc(k.Forms, func(f language.Form) bool { return isPointTable(f.Table) }) {
		ways = append(ways, "[a point](#points)")
	}
	if k.Kind == language.Measure && slices.ContainsFunc(k.Forms, func(f language.Form) bool { return !isPointTable(f.Table) }) {
		ways = append(ways, "[a shape](#shapes)")
	}
	if k.Kind == language.Group {
		for _, t := range tablesAt(k) {
			ways = append(ways, "["+t.Name+"](#"+t.Slug()+")")
		}
	}
	return language.Or(ways)
}

// numberAt says in words what number a key takes.
func numberAt(k *language.Key) string {
	text := k.Quantity.Noun()
	switch len(k.Also) {
	case 0:
	case 1:
		text += " or " + k.Also[0].Noun()
	default:
		text = "a number in the unit of what is carried"
	}
	if bounds := k.Bounds(); bounds != "" {
		text += ", " + bounds
	}
	one := *k
	one.Many = language.Once
	text += ", like `" + one.Sample() + "`"
	if k.ShareOf != "" {
		text += ", or a share of the " + k.ShareOf + ", like `70 % of " + k.ShareOf + "`"
	}
	return text
}

// units writes the section of units.
func (p *page) units() {
	p.WriteString("\n## Units\n\n| quantity | units |\n|---|---|\n")
	for q := range language.Quantities {
		units := "`" + strings.Join(q.Units(), "`, `") + "`"
		if q == language.Factor {
			units = "none"
		}
		fmt.Fprintf(p, "| %s | %s |\n", language.WithoutArticle(q.Noun()), units)
	}
}
