package language

import (
	"fmt"
	"strings"
)

// Page is the page as it is written.
type Page struct {
	strings.Builder
	done map[*Table]bool
}

// NewPage returns an empty page.
func NewPage() *Page { return &Page{done: map[*Table]bool{}} }

// Tables writes a table and then those that its keys refer to.
func (p *Page) Tables(t *Table) {
	p.done[t] = true
	if t.Doc != "" {
		fmt.Fprintf(p, "%s\n\n", Sentence(t.Doc))
	}
	p.Keys(t)
	for i := range t.Keys {
		k := &t.Keys[i]
		if k.Kind != Group {
			continue
		}
		for _, next := range k.tables() {
			if !p.done[next] {
				fmt.Fprintf(p, "\n<a id=%q></a>\n\n### %s\n\n", next.Slug(), Heading(next.Name))
				p.Tables(next)
			}
		}
	}
}

func Heading(name string) string { return strings.ToUpper(name[:1]) + name[1:] }

// Sentence begins with a capital and ends with a full stop.
func Sentence(doc string) string { return Heading(strings.TrimSuffix(doc, ".")) + "." }

// tables lists the tables that may stand at a key.
func (k *Key) tables() []*Table {
	var all []*Table
	if k.Table != nil {
		all = append(all, k.Table)
	}
	return append(all, k.formTables()...)
}

// Keys writes one table's keys.
func (p *Page) Keys(t *Table) {
	p.WriteString("| key | value | left out | meaning |\n|---|---|---|---|\n")
	for i := range t.Keys {
		k := &t.Keys[i]
		doc, otherwise := k.leftOut()
		fmt.Fprintf(p, "| `%s` | %s | %s | %s |\n", k.Name, cell(k.kinds()), cell(otherwise), cell(doc))
	}
	fmt.Fprintf(p, "\nLike `%s`.\n", t.Sample())
}

// cell keeps text within its column.
func cell(text string) string { return strings.ReplaceAll(text, "|", "\\|") }

// leftOut takes apart what a key means and what holds where it is left out.
func (k *Key) leftOut() (doc, otherwise string) {
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

// kinds says in words what may stand at a key.
func (k *Key) kinds() string {
	one := k.oneKind()
	switch k.Many {
	case List:
		return "a list, each " + one
	case OneOrList:
		return one + ", or a list"
	case Pair:
		return "two, the lower first: " + one
	case Two:
		return "two: " + one
	}
	return one
}

func (k *Key) oneKind() string {
	var ways []string
	switch k.Kind {
	case Text:
		return "text"
	case Flag:
		return "`yes` or `no`"
	case Whole:
		return "a whole number, " + k.bounds()
	case Measure:
		ways = append(ways, k.number())
	case Point:
		return "`[time, value]`"
	case Pin:
		return "`GPIO2` to `GPIO27`"
	}
	for _, word := range k.Words {
		ways = append(ways, "`"+word+"`")
	}
	if k.Kind == Measure && k.Forms != nil {
		ways = append(ways, "[a shape](#shapes)")
	}
	if k.Kind == Group {
		for _, t := range k.tables() {
			ways = append(ways, "["+t.Name+"](#"+t.Slug()+")")
		}
	}
	return Or(ways)
}

// number says in words what number a key takes.
func (k *Key) number() string {
	text := measures[k.Quantity].noun
	switch len(k.Also) {
	case 0:
	case 1:
		text += " or " + measures[k.Also[0]].noun
	default:
		text = "a number in the unit of what is carried"
	}
	if bounds := k.bounds(); bounds != "" {
		text += ", " + bounds
	}
	text += ", like `" + k.sampleOne() + "`"
	if k.ShareOf != "" {
		text += ", or a share of the " + k.ShareOf + ", like `70 % of " + k.ShareOf + "`"
	}
	return text
}

// Units writes the section of units.
func (p *Page) Units() {
	p.WriteString("\n## Units\n\n| quantity | units |\n|---|---|\n")
	for i := range measures {
		units := "`" + strings.Join(Quantity(i).Units(), "`, `") + "`"
		if Quantity(i) == Factor {
			units = "none"
		}
		fmt.Fprintf(p, "| %s | %s |\n", WithoutArticle(measures[i].noun), units)
	}
}
