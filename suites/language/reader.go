package language

import (
	"fmt"
	"slices"
	"strings"
)

// Reader reads one file and collects its problems.
type Reader struct {
	Source   Source
	Problems Problems // in the order in which they were found

	lines   []string
	seen    map[Problem]bool // so that one mistake is one problem however often it is met
	anchors map[string]*Node
	listed  bool // what is converted next is an entry of a list
	tooBig  bool // the file nests too deep or is too large once aliases are written out
}

// NewReader returns a reader of one file, which [Reader.Tree] then reads.
func NewReader(s Source) *Reader {
	return &Reader{Source: s, lines: s.Head().Lines(), seen: map[Problem]bool{}, anchors: map[string]*Node{}}
}

// reportAt reports a problem at a place; value, remedy and the excerpt may be
// empty. The same problem is reported once.
func (r *Reader) reportAt(line, column int, value, message, remedy string) {
	line = min(line, len(r.lines)) // a parser's idea of the end of the file may differ
	p := Problem{Place: Place{r.Source.Path, line, column}, Value: value, Message: message, Remedy: remedy}
	if r.seen[p] {
		return
	}
	r.seen[p] = true
	if len(r.Problems) < 2*shown {
		p.Excerpt = ExcerptAt(r.lines, line, column)
	}
	r.Problems = append(r.Problems, p)
}

// Report reports a problem at a node, whose text is the offending value.
func (r *Reader) Report(n *Node, message, remedy string) {
	value := ""
	if n.kind == scalarNode {
		value = n.Text
	}
	r.reportAt(n.Line, n.Column, value, message, remedy)
}

// reject reports a problem of what was read, which is marked as bad.
func (r *Reader) reject(v *Value, message, remedy string) Value {
	r.Report(v.Node, message, remedy)
	v.Bad = true
	return *v
}

// Value is what was read at one key.
type Value struct {
	Node     *Node
	Key      *Node // where the key stands; nil in a list
	Bad      bool  // it was reported; nothing else is set
	Number   float64
	Relative bool     // number is a share of what the key's ShareOf names
	Quantity Quantity // of number
	Whole    int64
	Word     string // Word, Text, and a word that stands for a Measure
	Flag     bool
	List     []Value
	Mapping  *Mapping
}

// Mapping is a table that was read. Its methods take the name of a key, and panic where
// no such key can stand in it; those of nil, a table that is left out, find nothing.
type Mapping struct {
	Node   *Node
	Table  *Table            // by which it was read
	Values map[string]*Value // of the keys that the table knows and the file has, wrong ones too

	meant map[string]bool // keys in whose place a word much like them stands, which was reported
	forms []Form          // among which Table was chosen by what the file has; nil where there was no choice
}

// Read holds a node against a table. Keys that are wrong are reported and
// marked as bad.
func (r *Reader) Read(n *Node, t *Table) *Mapping { return r.readAmong(n, t, nil) }

// readAmong holds a node against the one of several forms whose table is t; forms may be none.
func (r *Reader) readAmong(n *Node, t *Table, forms []Form) *Mapping {
	v := &Mapping{Node: n, Table: t, Values: map[string]*Value{}, meant: map[string]bool{}, forms: forms}
	for i := 0; i < len(n.Entries); i++ {
		e := &n.Entries[i]
		k := t.Key(e.Name)
		if k == nil {
			r.unknown(e, v)
			v.meant[Nearest(e.Name, t.Names())] = true
			continue
		}
		x := Value{Node: e.Value, Key: e.Key}
		if i+1 < len(n.Entries) && n.Entries[i+1].Value.kind == nullNode && r.splitByComma(e.Value, n.Entries[i+1].Key, k) {
			x.Bad = true
			i++ // the rest of the number
		} else {
			x = r.value(e.Value, k)
			x.Key = e.Key
		}
		v.Values[k.Name] = &x
	}
	for i := range t.Keys {
		if k := &t.Keys[i]; k.Required && !v.Written(k.Name) {
			r.Report(n.Head(), fmt.Sprintf("key %s is missing in %s", k.Name, t.Name), "add "+k.Name+": "+k.Sample())
		}
	}
	return v
}

// unknown reports a key that the table of what is read lacks.
func (r *Reader) unknown(e *Entry, v *Mapping) {
	var with []string // what the key goes with in other forms
	for _, f := range v.forms {
		if f.Table != v.Table && f.Table.Key(e.Name) != nil && !slices.Contains(with, f.has()) {
			with = append(with, f.has())
		}
	}
	remedy := Instead(e.Name, v.Table.Names())
	if with != nil {
		remedy = "leave it out, or write what it goes with: " + Or(with)
	}
	r.Report(e.Key, fmt.Sprintf("key %q is not known in %s", Brief(e.Name), v.Table.Name), remedy)
}

// has says by what a form is known.
func (f *Form) has() string {
	if f.Word != "" {
		return f.Has[0] + ": " + f.Word
	}
	return strings.Join(f.Has, " and ")
}

// value reads what stands at a key.
func (r *Reader) value(n *Node, k *Key) Value {
	v := Value{Node: n}
	switch {
	case n.said:
		v.Bad = true
		return v
	case n.kind == nullNode:
		return r.reject(&v, fmt.Sprintf("key %s has no value", k.Name), "write "+k.Name+": "+k.Sample()+k.orNothing())
	case k.Many == Once || k.Many == OneOrList && n.kind != sequenceNode:
		return r.one(n, k)
	case n.kind != sequenceNode:
		return r.reject(&v, fmt.Sprintf("%s is %s where a list is expected", k.Name, quoted(n)), "write "+k.Name+": "+k.Sample())
	case r.commaIn(n, k):
		v.Bad = true
		return v
	case len(n.items) == 0:
		return r.reject(&v, fmt.Sprintf("the list %s is empty", k.Name), "write "+k.Name+": "+k.Sample()+k.orNothing())
	case (k.Many == Pair || k.Many == Two) && len(n.items) != 2:
		which := "the lower and the upper bound"
		if k.Many == Two {
			which = "the first and the second"
		}
		return r.reject(&v, fmt.Sprintf("%s does not have two values", k.Name), "write "+which+", "+k.Name+": "+k.Sample())
	}
	for _, item := range n.items {
		x := r.one(item, k)
		v.Bad = v.Bad || x.Bad && k.Kind != Group
		v.List = append(v.List, x)
	}
	if k.Many == Pair && !v.Bad && v.List[0].Number >= v.List[1].Number {
		return r.reject(&v, fmt.Sprintf("%s has its bounds the wrong way round", k.Name), "write the lower one first")
	}
	return v
}

func quoted(n *Node) string {
	if n.kind == scalarNode {
		return fmt.Sprintf("%q", Brief(n.Text))
	}
	return nodeKindNames[n.kind]
}

// one reads a single value of a key's kind.
func (r *Reader) one(n *Node, k *Key) Value {
	v := Value{Node: n}
	want := scalarNode
	switch {
	case k.Kind == Group || k.Kind == Measure && k.Forms != nil && n.kind == mappingNode:
		want = mappingNode
	case k.Kind == Point:
		want = sequenceNode
	}
	if k.Kind == Group && n.kind == scalarNode && slices.Contains(k.Words, n.Text) {
		v.Word = n.Text
		return v
	}
	if n.kind != want {
		expected := nodeKindNames[want]
		if k.Kind == Group && k.Table != nil {
			expected = k.Table.Name + " as a table"
		}
		return r.reject(&v, fmt.Sprintf("%s is %s where %s is expected", k.Name, quoted(n), expected), "write "+k.Name+": "+k.Sample())
	}
	if want == mappingNode {
		r.readGroup(&v, k)
		return v
	}
	switch k.Kind {
	case Text:
		if v.Word = strings.TrimSpace(n.Text); v.Word == "" {
			r.reject(&v, fmt.Sprintf("%s is empty", k.Name), "write a text, like "+k.Name+": "+k.sampleOne())
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

func (r *Reader) readGroup(v *Value, k *Key) {
	if k.Forms == nil {
		v.Mapping = r.Read(v.Node, k.Table)
		return
	}
	if f := k.form(v.Node); f != nil {
		t := f.Table
		if f.Of != nil {
			t = f.Of(v.Node)
		}
		v.Mapping = r.readAmong(v.Node, t, k.Forms)
		return
	}
	v.Bad = true
	r.noForm(v.Node, k)
}

// form returns the form that an entry of the file has, nil where it has none.
func (k *Key) form(n *Node) *Form {
	for i := range k.Forms {
		f := &k.Forms[i]
		has := true
		for _, name := range f.Has {
			has = has && n.Key(name) != nil
		}
		if x := n.Get(f.Has[0]); has && (f.Word == "" || x.kind == scalarNode && x.Text == f.Word) {
			return f
		}
	}
	return nil
}

// noForm reports an entry that has none of the key's forms.
func (r *Reader) noForm(n *Node, k *Key) {
	var ways, keys []string
	words := map[string][]string{} // by the key that they stand at
	for _, f := range k.Forms {
		if way := strings.Join(f.Has, " and "); !slices.Contains(ways, way) {
			ways = append(ways, way)
		}
		if f.Word != "" {
			words[f.Has[0]] = append(words[f.Has[0]], f.Word)
		}
		for _, name := range f.Table.Names() {
			if !slices.Contains(keys, name) {
				keys = append(keys, name)
			}
		}
	}
	for i := range n.Entries {
		e := &n.Entries[i]
		if known := words[e.Name]; known != nil {
			r.Report(e.Value, fmt.Sprintf("%s %s is not known", e.Name, quoted(e.Value)), Instead(e.Value.Text, known))
			return
		}
		if !slices.Contains(keys, e.Name) {
			r.Report(e.Key, fmt.Sprintf("key %q is not known in %s", Brief(e.Name), k.Name), Instead(e.Name, keys))
			return
		}
	}
	if len(ways) == 1 {
		r.Report(n, fmt.Sprintf("key %s is missing in this entry of %s", ways[0], k.Name), "add "+ways[0]+": "+k.Forms[0].Table.Key(ways[0]).Sample())
		return
	}
	r.Report(n, fmt.Sprintf("it is not clear what this entry of %s asks for", k.Name), "give one of "+Or(ways))
}

// PlaceOf returns where a node stands; the zero Place for nil.
func (r *Reader) PlaceOf(n *Node) Place {
	if n == nil {
		return Place{}
	}
	return Place{r.Source.Path, n.Line, n.Column}
}
