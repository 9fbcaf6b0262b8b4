package file

import (
	"errors"
	"fmt"
	"strings"

	"github.com/goccy/go-yaml"
	"github.com/goccy/go-yaml/ast"
	"github.com/goccy/go-yaml/parser"
	"github.com/goccy/go-yaml/token"
)

// tree reads the file's YAML and returns its top table, or nil after reporting
// why there is none. first is the key that names a file of this kind.
func (r *reader) tree(first string) (top *node) {
	// The parser is another's; should it fail on some text, that is a problem
	// of that text for the user.
	defer func() {
		if recover() != nil {
			r.at(1, 1, "", "not readable as YAML", "")
			top = nil
		}
	}()
	tokens, ok := r.guard()
	if !ok {
		return nil
	}
	f, err := parser.Parse(tokens, 0, parser.AllowDuplicateMapKey())
	if err != nil {
		r.syntax(err)
		return nil
	}
	before := len(r.problems)
	for _, doc := range f.Docs {
		switch {
		case doc.Body == nil:
		case top != nil:
			p := r.place(doc.Body)
			r.at(p.Line, p.Column, "", "the file holds more than one document", "leave out the line ---")
			return nil
		default:
			top = r.convert(doc.Body, 0)
		}
	}
	switch {
	case r.blown:
		return nil
	case top == nil && len(r.problems) > before:
	case top == nil || top.form == nothing:
		r.at(1, 1, "", "the file is empty", "")
		return nil
	case top.form != table:
		r.problem(top, fmt.Sprintf("the file holds %s where keys with values are expected", formNames[top.form]), "begin with a line like "+first+": NAME")
		return nil
	case top.key(first) == nil:
		for _, other := range []string{"car", "bench", "suite"} {
			if key := top.key(other); key != nil {
				r.problem(key, fmt.Sprintf("this is a %s file where a %s file is expected", other, first), "give a file that begins with "+first+": NAME")
				return nil
			}
		}
	}
	return top
}

// syntax reports what the YAML parser said.
func (r *reader) syntax(err error) {
	message, line, column := err.Error(), 1, 1
	if e, ok := errors.AsType[yaml.Error](err); ok {
		message = e.GetMessage()
		if t := e.GetToken(); t != nil && t.Position != nil {
			line, column = t.Position.Line, max(t.Position.Column, 1)
		}
	}
	message, _, _ = strings.Cut(message, "\n")
	remedy := "check the colons, brackets, quotes and indentation around it"
	if strings.Contains(message, "reserved character") {
		remedy = "put the text in quotes"
	}
	r.at(line, column, "", "not readable as YAML: "+brief(message), remedy)
}

// place returns where a node begins.
func (r *reader) place(n ast.Node) Place {
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

func (r *reader) token(t *token.Token) Place {
	if t == nil || t.Position == nil {
		return Place{r.source.Path, 1, 1}
	}
	return Place{r.source.Path, max(t.Position.Line, 1), max(t.Position.Column, 1)}
}

// convert makes a node of the parser's. What cannot stand in a file is
// reported and becomes nothing.
func (r *reader) convert(n ast.Node, depth int) *node {
	p := r.place(n)
	out := &node{form: nothing, line: p.Line, column: p.Column, lastLine: p.Line, size: 1, depth: 1}
	if depth > mostDepth {
		r.deep(out)
		return out
	}
	switch m := n.(type) {
	case *ast.NullNode:
	case *ast.MappingNode:
		out.form = table
		for _, v := range m.Values {
			r.addEntry(out, v, depth)
		}
		r.endsAt(out, m.End)
	case *ast.MappingValueNode:
		out.form = table
		r.addEntry(out, m, depth)
	case *ast.SequenceNode:
		out.form = list
		for _, v := range m.Values {
			r.addItem(out, v, depth)
		}
		r.endsAt(out, m.End)
	case *ast.AnchorNode:
		return r.anchor(m, depth)
	case *ast.AliasNode:
		return r.alias(m, out)
	case *ast.LiteralNode:
		out.form, out.text = scalar, m.Value.Value
		out.lastLine += strings.Count(out.text, "\n")
	case *ast.StringNode:
		out.form, out.text = scalar, m.Value
	case *ast.TagNode:
		r.problem(out, fmt.Sprintf("tag %q has no meaning here", brief(m.Start.Value)), "leave it out")
		if m.Value != nil {
			return r.convert(m.Value, depth+1)
		}
	case ast.ScalarNode:
		out.form, out.text = scalar, strings.TrimSpace(m.GetToken().Value)
	default:
		r.problem(out, "this has no meaning here", "")
	}
	return out
}

func (r *reader) endsAt(n *node, end *token.Token) {
	if end != nil && end.Position != nil {
		n.lastLine = max(n.lastLine, end.Position.Line)
	}
}

// deep reports nesting beyond what is read.
func (r *reader) deep(n *node) {
	if !r.blown {
		r.problem(n, fmt.Sprintf("values are nested more than %d deep", mostDepth), "")
	}
	r.blown = true
}

// adopt takes child into n's counts, and reports a tree that aliases blow up.
func (r *reader) adopt(n, child *node) bool {
	n.lastLine = max(n.lastLine, child.lastLine)
	n.size += child.size
	n.depth = max(n.depth, child.depth+1)
	switch {
	case r.blown:
	case n.depth > mostDepth:
		r.deep(child)
	case n.size > mostNodes:
		r.blown = true
		r.problem(n, "aliases make the file too large", "write the values out")
	}
	return !r.blown
}

func (r *reader) addItem(n *node, v ast.Node, depth int) {
	if child := r.convert(v, depth+1); r.adopt(n, child) {
		n.items = append(n.items, child)
	}
}

func (r *reader) addEntry(n *node, v *ast.MappingValueNode, depth int) {
	p := r.place(v.Key)
	key := &node{form: scalar, line: p.Line, column: p.Column, lastLine: p.Line, size: 1, depth: 1}
	switch k := v.Key.(type) {
	case *ast.MergeKeyNode:
		r.problem(key, "merge key << is not read", "write the keys out")
		return
	case *ast.StringNode:
		key.text = k.Value
	case ast.ScalarNode:
		key.text = strings.TrimSpace(k.GetToken().Value)
	default:
		r.problem(key, "a key has to be a plain word", "")
		return
	}
	value := r.convert(v.Value, depth+1)
	if value.form == nothing {
		value.line, value.column, value.lastLine = key.line, key.column, key.line
	}
	if first := n.key(key.text); first != nil {
		r.problem(key, fmt.Sprintf("key %q stands twice, first on line %d", brief(key.text), first.line), "leave one out")
		return
	}
	if value.label == nil {
		value.label = key
	}
	if r.adopt(n, value) {
		n.entries = append(n.entries, entry{key.text, key, value})
		n.name(key)
	}
}

func (r *reader) anchor(m *ast.AnchorNode, depth int) *node {
	out := r.convert(m.Value, depth)
	if r.anchors == nil {
		r.anchors = map[string]*node{}
	}
	if m.Name != nil {
		r.anchors[m.Name.GetToken().Value] = out
	}
	return out
}

func (r *reader) alias(m *ast.AliasNode, out *node) *node {
	name := ""
	if m.Value != nil {
		name = m.Value.GetToken().Value
	}
	if n, ok := r.anchors[name]; ok {
		return n
	}
	r.problem(out, fmt.Sprintf("alias %q has no anchor before it", brief(name)), "define it with &"+brief(name)+" first")
	return out
}
