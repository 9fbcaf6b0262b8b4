package language

import (
	"fmt"
	"strings"

	"github.com/goccy/go-yaml/ast"
	"github.com/goccy/go-yaml/parser"
	"github.com/goccy/go-yaml/token"
)

// Tree reads the file's YAML and returns its top table, or nil after reporting
// why there is none. first is the key that names a file of this kind; others are
// the keys that files of other kinds begin with.
func (r *Reader) Tree(first string, others ...string) (top *Node) {
	// The parser is another's; should it fail on some text, that is a problem
	// of that text for the user.
	defer func() {
		if recover() != nil {
			r.reportAt(1, 1, "", "not readable as YAML", "")
			top = nil
		}
	}()
	tokens, ok := r.tokenize()
	if !ok || r.directive(tokens) {
		return nil
	}
	f, err := parser.Parse(tokens, 0, parser.AllowDuplicateMapKey())
	if err != nil {
		r.syntax(err, tokens)
		return nil
	}
	before := len(r.Problems)
	for _, doc := range f.Docs {
		switch {
		case doc.Body == nil:
		case top != nil:
			p := r.place(doc.Body)
			if doc.Start != nil {
				p = r.token(doc.Start)
			}
			r.reportAt(p.Line, p.Column, "", "the file holds more than one document", "leave out the line ---")
			return nil
		default:
			top = r.convert(doc.Body, 0)
		}
	}
	switch {
	case r.tooBig:
		return nil
	case top == nil && len(r.Problems) > before:
	case top == nil || top.kind == nullNode:
		r.reportAt(1, 1, "", "the file is empty", "begin it with "+first+": NAME")
		return nil
	case top.kind != mappingNode:
		r.Report(top, fmt.Sprintf("the file holds %s where keys with values are expected", nodeKindNames[top.kind]), "begin with a line like "+first+": NAME")
		return nil
	case top.Key(first) == nil:
		for _, other := range others {
			if key := top.Key(other); key != nil {
				r.Report(key, fmt.Sprintf("this is a %s file where a %s file is expected", other, first), "give a file that begins with "+first+": NAME")
				return nil
			}
		}
	}
	return top
}

// place returns where a node begins.
func (r *Reader) place(n ast.Node) Place {
	switch m := n.(type) {
	case *ast.MappingNode:
		if !m.IsFlowStyle && len(m.Values) > 0 {
			return r.place(m.Values[0].Key)
		}
	case *ast.MappingValueNode:
		return r.place(m.Key)
	case *ast.LiteralNode:
		return r.token(m.Start)
	}
	return r.token(n.GetToken())
}

func (r *Reader) token(t *token.Token) Place {
	if t == nil || t.Position == nil {
		return Place{r.Source.Path, 1, 1}
	}
	return Place{r.Source.Path, max(t.Position.Line, 1), max(t.Position.Column, 1)}
}

// convert makes a node of the parser's. What cannot stand in a file is
// reported and becomes nothing.
func (r *Reader) convert(n ast.Node, depth int) *Node {
	p := r.place(n)
	out := &Node{kind: nullNode, Line: p.Line, Column: p.Column, LastLine: p.Line, size: 1, depth: 1}
	listed := r.listed
	r.listed = false
	if depth > mostDepth {
		r.deep(out)
		return out
	}
	switch m := n.(type) {
	case *ast.NullNode:
	case *ast.MappingNode:
		out.kind, out.entry = mappingNode, listed && !m.IsFlowStyle
		for _, v := range m.Values {
			r.addEntry(out, v, depth)
		}
		r.endsAt(out, m.End)
	case *ast.MappingValueNode:
		out.kind = mappingNode
		r.addEntry(out, m, depth)
	case *ast.SequenceNode:
		out.kind = sequenceNode
		for _, v := range m.Values {
			r.addItem(out, v, depth)
		}
		r.endsAt(out, m.End)
	case *ast.AnchorNode:
		return r.anchor(m, depth)
	case *ast.AliasNode:
		return r.alias(m, out)
	case *ast.LiteralNode:
		out.kind, out.Text = scalarNode, m.Value.Value
		out.LastLine += strings.Count(out.Text, "\n")
	case *ast.StringNode:
		out.kind, out.Text = scalarNode, m.Value
	case *ast.TagNode:
		r.Report(out, fmt.Sprintf("tag %q has no meaning here", Brief(m.Start.Value)), "leave it out")
		if m.Value != nil {
			return r.convert(m.Value, depth+1)
		}
		out.said = true
	case ast.ScalarNode:
		out.kind, out.Text = scalarNode, strings.TrimSpace(m.GetToken().Value)
	default:
		r.Report(out, "this has no meaning here", "")
		out.said = true
	}
	return out
}

func (r *Reader) endsAt(n *Node, end *token.Token) {
	if end != nil && end.Position != nil {
		n.LastLine = max(n.LastLine, end.Position.Line)
	}
}

// deep reports nesting beyond what is read.
func (r *Reader) deep(n *Node) {
	if !r.tooBig {
		r.Report(n, fmt.Sprintf("values are nested more than %d deep", mostDepth), "")
	}
	r.tooBig = true
}

// addChild counts child as part of n, and reports a tree that is too deep, or too large
// once its aliases are written out.
func (r *Reader) addChild(n, child *Node) bool {
	n.LastLine = max(n.LastLine, child.LastLine)
	n.size += child.size
	n.depth = max(n.depth, child.depth+1)
	switch {
	case r.tooBig:
	case n.depth > mostDepth:
		r.deep(child)
	case n.size > mostNodes:
		r.tooBig = true
		r.Report(n, "aliases make the file too large", "write the values out")
	}
	return !r.tooBig
}

func (r *Reader) addItem(n *Node, v ast.Node, depth int) {
	r.listed = true
	if child := r.convert(v, depth+1); r.addChild(n, child) {
		n.items = append(n.items, child)
	}
}

func (r *Reader) addEntry(n *Node, v *ast.MappingValueNode, depth int) {
	p := r.place(v.Key)
	key := &Node{kind: scalarNode, Line: p.Line, Column: p.Column, LastLine: p.Line, size: 1, depth: 1}
	switch k := v.Key.(type) {
	case *ast.MergeKeyNode:
		r.Report(key, "merge key << is not read", "write the keys out")
		return
	case *ast.StringNode:
		key.Text = k.Value
	case ast.ScalarNode:
		key.Text = strings.TrimSpace(k.GetToken().Value)
	default:
		r.Report(key, "a key has to be a plain word", "")
		return
	}
	r.blankAfter(v, key)
	value := r.convert(v.Value, depth+1)
	if value.kind == nullNode {
		value.Line, value.Column, value.LastLine = key.Line, key.Column, key.Line
	}
	if first := n.Key(key.Text); first != nil {
		r.doubled(n, key, first)
		return
	}
	if value.label == nil {
		value.label = key
	}
	if r.addChild(n, value) {
		n.Entries = append(n.Entries, Entry{key.Text, key, value})
		n.name(key)
	}
}

// doubled reports a key that stands twice in a table. In an entry of a list whose first key comes again the dash
// before a second entry is missing, and what else stands twice follows from that.
func (r *Reader) doubled(n, key, first *Node) {
	if n.undashed {
		return
	}
	message, remedy := fmt.Sprintf("key %q stands twice, first on line %d", Brief(key.Text), first.Line), "leave one out"
	if n.entry && key.Text == n.Entries[0].Name && key.Line > n.Entries[0].Value.LastLine {
		n.undashed = true
		message = fmt.Sprintf("key %q stands twice in one entry of a list, first on line %d", Brief(key.Text), first.Line)
		remedy = "begin a second entry with a dash, - " + Brief(key.Text) + ": and so on, or leave one out"
	}
	r.Report(key, message, remedy)
}

func (r *Reader) anchor(m *ast.AnchorNode, depth int) *Node {
	out := r.convert(m.Value, depth)
	if m.Name != nil {
		r.anchors[m.Name.GetToken().Value] = out
	}
	return out
}

func (r *Reader) alias(m *ast.AliasNode, out *Node) *Node {
	name := ""
	if m.Value != nil {
		name = m.Value.GetToken().Value
	}
	if n, ok := r.anchors[name]; ok {
		return n
	}
	r.Report(out, fmt.Sprintf("alias %q has no anchor before it", Brief(name)), "define it with &"+Brief(name)+" first")
	out.said = true
	return out
}
