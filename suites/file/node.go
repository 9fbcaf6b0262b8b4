package file

// form says what a node is.
type form uint8

const (
	scalar form = iota
	list
	table
	nothing // a key without a value
)

var formNames = [...]string{"a single value", "a list", "a table", "nothing"}

// node is one value of a file's tree with its place. Aliases share the node of
// their anchor.
type node struct {
	form     form
	text     string // scalar: without quotes, line breaks folded
	items    []*node
	entries  []entry
	keys     map[string]*node // of entries, by name
	label    *node            // the key that it stands at; nil in a list and for the top
	line     int              // of the first character
	column   int
	lastLine int
	size     int // nodes under it and itself, aliases counted as if written out
	depth    int // of what stands under it
}

// entry is one key of a table with its value.
type entry struct {
	name  string
	key   *node
	value *node
}

// key returns the key called name, nil where the table has none.
func (n *node) key(name string) *node { return n.keys[name] }

// name takes a key into the table's names.
func (n *node) name(key *node) {
	if n.keys == nil {
		n.keys = map[string]*node{}
	}
	n.keys[key.text] = key
}

// get returns the value of key name, nil where the table has none.
func (n *node) get(name string) *node {
	if n == nil {
		return nil
	}
	for i := range n.entries {
		if n.entries[i].name == name {
			return n.entries[i].value
		}
	}
	return nil
}

// head is where something that the table lacks is reported: its key, where the
// table begins on a line below it.
func (n *node) head() *node {
	if n.label != nil && n.label.line < n.line {
		return n.label
	}
	return n
}

// brief cuts text to what a message can hold.
func brief(text string) string {
	const most = 60
	n := 0
	for i := range text {
		if n++; n > most {
			return text[:i] + "..."
		}
	}
	return text
}
