package language

import (
	"slices"
	"strings"
)

// Kind says what form the value at a key has.
type Kind uint8

// The kinds of value.
const (
	Text    Kind = iota // free text
	Word                // one of Key.Words
	Flag                // yes or no
	Whole               // a whole number, 12 or 0x0C
	Measure             // a number with a unit of Key.Quantity; or one of Key.Words
	Group               // a table of its own; or one of Key.Words
	Point               // a list of a time and a number with a unit of Key.Quantity
	Pin                 // a pin of the header, GPIO17
)

// Many says how often a value stands at a key.
type Many uint8

// How often a value stands at a key.
const (
	Once      Many = iota
	List           // a list of at least one
	OneOrList      // one, or a list of at least one
	Pair           // a list of two, the lower first
	Two            // a list of two, in any order
)

// Key is one key of a table: the one place that says what may stand there.
type Key struct {
	Name     string
	Doc      string // one line, for people
	Kind     Kind
	Many     Many
	Required bool
	Quantity Quantity   // Measure
	Also     []Quantity // Measure: quantities that may stand instead
	ShareOf  string     // Measure: what a share may stand for instead; "demand" for "70 % of demand"
	Words    []string   // Word, and words that may stand for a Measure or a Group
	// Least and Most bound a Measure or Whole, written as in a file; empty: open.
	Least, Most string
	Example     string // how one value is written; empty: made up from the rest
	Table       *Table // Group
	Forms       []Form // Group of one of several tables, instead of Table; Measure: tables that may stand for it
}

// Table is a set of keys that stand together.
type Table struct {
	Name string // what it declares, with its article: "a receiver channel"
	Doc  string
	Keys []Key
}

// NewTable returns a table of the keys of all parts, in order; doc may be empty.
func NewTable(name, doc string, parts ...[]Key) *Table {
	return &Table{Name: name, Doc: doc, Keys: slices.Concat(parts...)}
}

// Form is one of several tables that may stand at a place, known by the keys
// that it alone has.
type Form struct {
	Has   []string // keys that have to be there, all of them
	Word  string   // what stands at the first of Has; empty: anything
	Table *Table
	// Of, where it is set, returns the table for one entry of the file.
	Of func(n *Node) *Table
}

// Key returns the key called name, or nil.
func (t *Table) Key(name string) *Key {
	for i := range t.Keys {
		if t.Keys[i].Name == name {
			return &t.Keys[i]
		}
	}
	return nil
}

// Names lists the table's keys in order.
func (t *Table) Names() []string {
	names := make([]string, len(t.Keys))
	for i := range t.Keys {
		names[i] = t.Keys[i].Name
	}
	return names
}

// Sample shows how the value at the key is written.
func (k *Key) Sample() string {
	one := k.sampleOne()
	switch k.Many {
	case List:
		return "[" + one + "]"
	case Two:
		if k.Kind == Group {
			return "[" + one + ", " + one + "]"
		}
		_, unit := SplitNumber(one)
		return "[" + strings.TrimSpace("0 "+unit) + ", " + one + "]"
	case Pair:
		return "[" + k.bounded(k.Least, "-"+one) + ", " + k.bounded(k.Most, one) + "]"
	}
	return one
}

// orNothing says that the key may be left out, where it may.
func (k *Key) orNothing() string {
	if k.Required {
		return ""
	}
	return ", or leave the key out"
}

func (k *Key) bounded(bound, otherwise string) string {
	if bound == "" {
		return otherwise
	}
	return bound
}

// sampleOne shows how one value at the key is written.
func (k *Key) sampleOne() string {
	switch {
	case k.Example != "":
		return k.Example
	case k.Kind == Word:
		return k.Words[0]
	case k.Kind == Flag:
		return "yes"
	case k.Kind == Whole:
		return k.Least
	case k.Kind == Measure:
		return measures[k.Quantity].example
	case k.Kind == Pin:
		return "GPIO17"
	case k.Kind == Point:
		return "[1 s, " + measures[k.Quantity].example + "]"
	case k.Kind == Group && k.Forms != nil:
		return k.Forms[0].Table.Sample()
	case k.Kind == Group:
		return k.Table.Sample()
	}
	return strings.ToUpper(k.Name)
}

// Sample shows the table with the keys that it needs, or else with its first.
func (t *Table) Sample() string {
	var parts []string
	for i := range t.Keys {
		if k := &t.Keys[i]; k.Required {
			parts = append(parts, k.Name+": "+k.Sample())
		}
	}
	if len(parts) == 0 {
		parts = append(parts, t.Keys[0].Name+": "+t.Keys[0].Sample())
	}
	return "{" + strings.Join(parts, ", ") + "}"
}
