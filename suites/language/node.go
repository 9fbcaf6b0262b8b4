package language

// nodeKind says what a node is.
type nodeKind uint8

const (
	scalarNode nodeKind = iota
	sequenceNode
	mappingNode
	nullNode // a key without a value
)

var nodeKindNames = [...]string{"a single value", "a list", "a table", "nothing"}

// Node is one value of a file's tree with its place. Aliases share the node of
// their anchor.
type Node struct {
	kind     nodeKind
	Text     string // scalar: without quotes, line breaks folded
	items    []*Node
	Entries  []Entry
	keys     map[string]*Node // of entries, by name
	label    *Node            // the key that it stands at; nil in a list and for the top
	Line     int              // of the first character
	Column   int
	LastLine int
	entry    bool // a table in block style that is an entry of a list
	said     bool // what is wrong with it has been reported
	undashed bool // what stands in it was meant as two entries
	size     int  // nodes under it and itself, aliases counted as if written out
	depth    int  // of what stands under it
}

// Entry is one key of a table with its value.
type Entry struct {
	Name  string
	Key   *Node
	Value *Node
}

// Key returns the key called name, nil where the table has none.
func (n *Node) Key(name string) *Node { return n.keys[name] }

// name takes a key into the table's names.
func (n *Node) name(key *Node) {
	if n.keys == nil {
		n.keys = map[string]*Node{}
	}
	n.keys[key.Text] = key
}

// Get returns the value of key name, nil where the table has none.
func (n *Node) Get(name string) *Node {
	if n == nil {
		return nil
	}
	for i := range n.Entries {
		if n.Entries[i].Name == name {
			return n.Entries[i].Value
		}
	}
	return nil
}

// Head is where something that the table lacks is reported: its key, where the
// table begins on a line below it.
func (n *Node) Head() *Node {
	if n.label != nil && n.label.Line < n.Line {
		return n.label
	}
	return n
}

// Brief cuts text to what a message can hold.
func Brief(text string) string {
	const most = 60
	n := 0
	for i := range text {
		if n++; n > most {
			return text[:i] + "..."
		}
	}
	return text
}
