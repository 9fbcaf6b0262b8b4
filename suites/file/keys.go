package file

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
)

// Many says how often a value stands at a key.
type Many uint8

// How often a value stands at a key.
const (
	Once      Many = iota
	List           // a list of at least one
	OneOrList      // one, or a list of at least one
	Pair           // a list of two, the lower first
)

// Key is one key of a table: the one place that says what may stand there.
type Key struct {
	Name     string
	Doc      string // one line, for people
	Kind     Kind
	Many     Many
	Required bool
	Quantity Quantity // Measure
	OfDemand bool     // Measure: "70 % of demand" may stand instead
	Words    []string // Word, and words that may stand for a Measure or a Group
	// Least and Most bound a Measure or Whole, written as in a file; empty: open.
	Least, Most string
	Table       *Table // Group
	Forms       []Form // Group of one of several tables, instead of Table
}

// Table is a set of keys that stand together.
type Table struct {
	Name string // what it declares, with its article: "a receiver channel"
	Doc  string
	Keys []Key
}

// Form is one of several tables that may stand at a place, known by the keys
// that it alone has.
type Form struct {
	Has   []string // keys that have to be there, all of them
	Table *Table
	// Of, where it is set, returns the table for one entry of the file.
	Of func(n *node) *Table
}

// key returns the key called name, or nil.
func (t *Table) key(name string) *Key {
	for i := range t.Keys {
		if t.Keys[i].Name == name {
			return &t.Keys[i]
		}
	}
	return nil
}

// names lists the table's keys in order.
func (t *Table) names() []string {
	names := make([]string, len(t.Keys))
	for i := range t.Keys {
		names[i] = t.Keys[i].Name
	}
	return names
}

// example shows how a value at the key is written.
func (k *Key) example() string {
	switch k.Kind {
	case Word:
		return or(k.Words)
	case Flag:
		return "yes or no"
	case Whole:
		return "a whole number"
	case Measure:
		return measures[k.Quantity].example
	case Group:
		if k.Table != nil {
			return k.Table.Name
		}
	}
	return "text"
}
