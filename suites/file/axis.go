package file

import (
	"fmt"
	"slices"

	"hilrig/suites/language"
)

// axis is what varies by itself from case to case: a list of each, or together, whose rows give
// several values at once.
type axis struct {
	key   string              // "each" or "together"
	names []string            // of what it varies
	rows  [][]*language.Value // its choices, each with a value for every name
}

// axes returns the lists of each in the order of the file, and behind them together.
func (b *caseBuilder) axes() (out []axis) {
	if each := b.v.Sub("each"); each != nil {
		for i := range each.Node.Entries {
			name := each.Node.Entries[i].Name
			if !each.MayHave(name) {
				continue // reported as not known
			}
			if x := each.Get(name); x != nil {
				a := axis{key: "each", names: []string{name}}
				for k := range x.List {
					a.rows = append(a.rows, []*language.Value{&x.List[k]})
				}
				out = append(out, a)
			}
		}
	}
	if a := b.together(); len(a.rows) > 0 {
		out = append(out, a)
	}
	return out
}

// together returns the rows of together that have a value for whatever the first one has.
func (b *caseBuilder) together() axis {
	a := axis{key: "together"}
	for _, row := range b.v.List("together") {
		if row.Mapping == nil {
			continue // reported as no table
		}
		if a.names == nil {
			for _, e := range row.Mapping.Node.Entries {
				if row.Mapping.MayHave(e.Name) {
					a.names = append(a.names, e.Name)
				}
			}
		}
		var values []*language.Value
		for _, name := range a.names {
			if x := row.Mapping.Get(name); x != nil {
				values = append(values, x)
			}
		}
		if len(a.names) > 0 && len(values) == len(a.names) {
			a.rows = append(a.rows, values)
		}
	}
	return a
}

// varied reports what varies and stands in another place too, and choices that stand twice.
func (b *caseBuilder) varied(axes []axis) {
	b.uneven()
	for i, a := range axes {
		b.twice(&a)
		for _, name := range a.names {
			places := []*language.Mapping{b.v}
			if name != "turn" { // a step may turn the other way
				places = append(places, b.v.Sub("hold"))
				for _, s := range b.v.List("steps") {
					places = append(places, s.Mapping)
				}
			}
			for _, p := range places {
				if p.Written(name) {
					b.Report(p.Node.Key(name), fmt.Sprintf("%s stands in %s as well", name, a.key), "give it in one place")
				}
			}
			if a.key == "together" && slices.ContainsFunc(axes[:i], func(o axis) bool { return slices.Contains(o.names, name) }) {
				b.Report(a.rows[0][slices.Index(a.names, name)].Node, name+" stands in each as well", "give it in one place")
			}
		}
	}
}

// uneven reports rows of together that are empty, or do not give the values that the first one gives.
func (b *caseBuilder) uneven() {
	var first *language.Mapping
	for _, row := range b.v.List("together") {
		switch {
		case row.Mapping == nil:
			continue
		case len(row.Mapping.Node.Entries) == 0:
			b.Report(row.Node, "a row of together is empty", "write it like {speed: 4 m/s, steer: 8 deg}")
			continue
		case first == nil:
			first = row.Mapping
		}
		for _, name := range first.Table.Names() {
			if has := row.Mapping.Written(name); has != first.Written(name) {
				b.Report(row.Node, fmt.Sprintf("%s stands in some rows of together and not in others", name), "give every row the same values")
				break
			}
		}
	}
}

// twice reports a choice that stands twice in a list.
func (b *caseBuilder) twice(a *axis) {
	for i, x := range a.rows {
		for _, y := range a.rows[:i] {
			if !slices.EqualFunc(x, y, alike) {
				continue
			}
			if a.key == "each" {
				b.Report(x[0].Node, fmt.Sprintf("%s %s stands twice in each", a.names[0], language.Brief(written(x[0]))), "leave one out")
			} else {
				b.Report(x[0].Node, "a row stands twice in together", "leave one out")
			}
			break
		}
	}
}

// varies tells whether a value is written in each or together, right or wrong.
func (b *caseBuilder) varies(name string) bool {
	return b.v.Sub("each").Written(name) || slices.ContainsFunc(b.v.List("together"), func(row language.Value) bool { return row.Mapping.Written(name) })
}
