package file

import (
	"fmt"
	"slices"
	"strings"
)

// reader reads one file and collects its problems.
type reader struct {
	source   Source
	lines    []string
	problems Problems
	seen     map[Problem]bool // so that one mistake is one problem however often it is met
	anchors  map[string]*node
	others   Problems // of further files that the file names, in order
	notes    Warnings
	blown    bool // the file nests too deep or is too large once aliases are written out
}

func newReader(s Source) *reader {
	return &reader{source: s, lines: s.head().lines(), seen: map[Problem]bool{}}
}

// at reports a problem at a place.
func (r *reader) at(line, column int, value, message, remedy string) {
	line = min(line, len(r.lines)) // a parser's idea of the end of the file may differ
	p := Problem{Place: Place{r.source.Path, line, column}, Value: value, Message: message, Remedy: remedy}
	if r.seen[p] {
		return
	}
	r.seen[p] = true
	if len(r.problems) < 2*shown {
		p.Excerpt = excerpt(r.lines, line, line, line, column)
	}
	r.problems = append(r.problems, p)
}

// problem reports a problem with a node.
func (r *reader) problem(n *node, message, remedy string) {
	value := ""
	if n.form == scalar {
		value = n.text
	}
	r.at(n.line, n.column, value, message, remedy)
}

// value is what was read at one key.
type value struct {
	node     *node
	key      *node // where the key stands; nil in a list
	bad      bool  // it was reported; nothing else is set
	number   float64
	ofDemand bool     // number is a share of the demand
	quantity Quantity // of number
	whole    int64
	word     string // Word, Text, and a word that stands for a Measure
	flag     bool
	list     []value
	table    *values
}

// values is a table that was read.
type values struct {
	node  *node
	table *Table
	of    map[string]*value
}

// read holds a node against a table. Keys that are wrong are reported and
// marked as bad.
func (r *reader) read(n *node, t *Table) *values {
	v := &values{n, t, map[string]*value{}}
	for i := range n.entries {
		e := &n.entries[i]
		k := t.key(e.name)
		if k == nil {
			r.problem(e.key, fmt.Sprintf("key %q is not known in %s", brief(e.name), t.Name), instead(e.name, t.names()))
			continue
		}
		x := r.value(e.value, k)
		x.key = e.key
		v.of[k.Name] = &x
	}
	for i := range t.Keys {
		if k := &t.Keys[i]; k.Required && !v.written(k.Name) {
			r.problem(n.head(), fmt.Sprintf("key %s is missing in %s", k.Name, t.Name), "add "+k.Name+": "+k.example())
		}
	}
	return v
}

// value reads what stands at a key.
func (r *reader) value(n *node, k *Key) value {
	if n.form == nothing {
		r.problem(n, fmt.Sprintf("key %s has no value", k.Name), "write "+k.Name+": "+k.example()+k.orNothing())
		return value{node: n, bad: true}
	}
	switch {
	case k.Many == Once || k.Many == OneOrList && n.form != list:
		return r.one(n, k)
	case n.form != list:
		r.problem(n, fmt.Sprintf("%s is %s where a list is expected", k.Name, quoted(n)), "write "+k.Name+": "+k.example())
		return value{node: n, bad: true}
	case len(n.items) == 0:
		r.problem(n, fmt.Sprintf("the list %s is empty", k.Name), "write "+k.Name+": "+k.example()+k.orNothing())
		return value{node: n, bad: true}
	case k.Many == Pair && len(n.items) != 2:
		r.problem(n, fmt.Sprintf("%s does not have two values", k.Name), "write the lower and the upper bound, "+k.Name+": "+k.example())
		return value{node: n, bad: true}
	case k.Many == Two && len(n.items) != 2:
		r.problem(n, fmt.Sprintf("%s does not have two values", k.Name), "write the first and the second, "+k.Name+": "+k.example())
		return value{node: n, bad: true}
	}
	v := value{node: n}
	for _, item := range n.items {
		x := r.one(item, k)
		v.bad = v.bad || x.bad && k.Kind != Group
		v.list = append(v.list, x)
	}
	if k.Many == Pair && !v.bad && v.list[0].number >= v.list[1].number {
		r.problem(n, fmt.Sprintf("%s has its bounds the wrong way round", k.Name), "write the lower one first")
		v.bad = true
	}
	return v
}

func quoted(n *node) string {
	if n.form == scalar {
		return fmt.Sprintf("%q", brief(n.text))
	}
	return formNames[n.form]
}

// one reads a single value of a key's kind.
func (r *reader) one(n *node, k *Key) value {
	v := value{node: n}
	want := scalar
	switch {
	case k.Kind == Group || k.Kind == Measure && k.Forms != nil && n.form == table:
		want = table
	case k.Kind == Point:
		want = list
	}
	if k.Kind == Group && n.form == scalar && slices.Contains(k.Words, n.text) {
		v.word = n.text
		return v
	}
	if n.form != want {
		expected := formNames[want]
		if k.Kind == Group && k.Table != nil {
			expected = k.Table.Name + " as a table"
		}
		r.problem(n, fmt.Sprintf("%s is %s where %s is expected", k.Name, quoted(n), expected), "write "+k.Name+": "+k.example())
		v.bad = true
		return v
	}
	if want == table {
		r.readGroup(&v, k)
		return v
	}
	switch k.Kind {
	case Text:
		v.word = strings.TrimSpace(n.text)
		if v.word == "" {
			r.problem(n, fmt.Sprintf("%s is empty", k.Name), "write "+k.example())
			v.bad = true
		}
	case Word:
		r.readWord(&v, k)
	case Flag:
		r.readFlag(&v, k)
	case Whole:
		r.readWhole(&v, k)
	case Measure:
		r.readMeasure(&v, k)
	case Pin:
		r.readPin(&v, k)
	case Point:
		r.readPoint(&v, k)
	}
	return v
}

func (r *reader) readGroup(v *value, k *Key) {
	if k.Forms == nil {
		v.table = r.read(v.node, k.Table)
		return
	}
	if f := k.form(v.node); f != nil {
		t := f.Table
		if f.Of != nil {
			t = f.Of(v.node)
		}
		v.table = r.read(v.node, t)
		return
	}
	v.bad = true
	r.noForm(v.node, k)
}

// form returns the form that an entry of the file has, nil where it has none.
func (k *Key) form(n *node) *Form {
	for i := range k.Forms {
		f := &k.Forms[i]
		has := true
		for _, name := range f.Has {
			has = has && n.key(name) != nil
		}
		if x := n.get(f.Has[0]); has && (f.Word == "" || x.form == scalar && x.text == f.Word) {
			return f
		}
	}
	return nil
}

// noForm reports an entry that has none of the key's forms.
func (r *reader) noForm(n *node, k *Key) {
	var ways, keys []string
	words := map[string][]string{} // by the key that they stand at
	for _, f := range k.Forms {
		if way := strings.Join(f.Has, " and "); !slices.Contains(ways, way) {
			ways = append(ways, way)
		}
		if f.Word != "" {
			words[f.Has[0]] = append(words[f.Has[0]], f.Word)
		}
		for _, name := range f.Table.names() {
			if !slices.Contains(keys, name) {
				keys = append(keys, name)
			}
		}
	}
	for i := range n.entries {
		e := &n.entries[i]
		if known := words[e.name]; known != nil {
			r.problem(e.value, fmt.Sprintf("%s %s is not known", e.name, quoted(e.value)), instead(e.value.text, known))
			return
		}
		if !slices.Contains(keys, e.name) {
			r.problem(e.key, fmt.Sprintf("key %q is not known in %s", brief(e.name), k.Name), instead(e.name, keys))
			return
		}
	}
	if len(ways) == 1 {
		r.problem(n, fmt.Sprintf("key %s is missing in this entry of %s", ways[0], k.Name), "add "+ways[0]+": "+k.Forms[0].Table.key(ways[0]).example())
		return
	}
	r.problem(n, fmt.Sprintf("it is not clear what this entry of %s asks for", k.Name), "give one of "+or(ways))
}

// standsAt returns where a value stands; none: nowhere.
func (r *reader) standsAt(x *value) Place {
	if x == nil {
		return Place{}
	}
	return Place{r.source.Path, x.node.line, x.node.column}
}
