package main

import (
	"bytes"
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"os"
)

// apply returns the row's file as it is when broken. The error says why the row does
// not apply.
func (r row) apply() ([]byte, error) {
	data, err := os.ReadFile(r.File)
	if err != nil {
		return nil, fmt.Errorf("%w; name the file where %s is now", err, r.In)
	}
	return r.change(data)
}

// change is apply for a file's text.
func (r row) change(data []byte) ([]byte, error) {
	from, to, err := declaration(data, r.File, r.In)
	if err != nil {
		return nil, err
	}
	text, inside := []byte(r.Text), data[from:to]
	if n := bytes.Count(inside, text); n != 1 {
		return nil, fmt.Errorf("%s: in %s the text occurs %d times, and it must once: %s", r.File, r.In, n, r.Text)
	}
	at := from + bytes.Index(inside, text)
	changed := append([]byte(nil), data[:at]...)
	changed = append(changed, r.With...)
	return append(changed, data[at+len(text):]...), nil
}

// declaration returns where the text of a top-level declaration begins and ends,
// without its comment.
func declaration(data []byte, path, name string) (from, to int, err error) {
	set := token.NewFileSet()
	file, err := parser.ParseFile(set, path, data, parser.SkipObjectResolution)
	if err != nil {
		return 0, 0, err
	}
	for _, d := range file.Decls {
		switch d := d.(type) {
		case *ast.FuncDecl:
			if nameOf(d) == name {
				return set.Position(d.Pos()).Offset, set.Position(d.End()).Offset, nil
			}
		case *ast.GenDecl:
			for _, s := range d.Specs {
				if declares(s, name) {
					return set.Position(s.Pos()).Offset, set.Position(s.End()).Offset, nil
				}
			}
		}
	}
	return 0, 0, fmt.Errorf("%s declares no %s; name what took its place", path, name)
}

// nameOf returns the name of a function, that of a method as Type.method.
func nameOf(d *ast.FuncDecl) string {
	if d.Recv == nil {
		return d.Name.Name
	}
	receiver := d.Recv.List[0].Type
	for {
		switch t := receiver.(type) {
		case *ast.StarExpr:
			receiver = t.X
		case *ast.IndexExpr:
			receiver = t.X
		case *ast.Ident:
			return t.Name + "." + d.Name.Name
		default:
			return d.Name.Name
		}
	}
}

// declares says whether a line of a const, var or type declaration is that of name.
func declares(s ast.Spec, name string) bool {
	switch s := s.(type) {
	case *ast.TypeSpec:
		return s.Name.Name == name
	case *ast.ValueSpec:
		for _, n := range s.Names {
			if n.Name == name {
				return true
			}
		}
	}
	return false
}
