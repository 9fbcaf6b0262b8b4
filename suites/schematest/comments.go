// Package schematest makes JSON Schemas and tables of keys from the Go types that are written as JSON, and holds
// documents against such a schema. It is for tests: what they make is kept beside the types, and they fail where
// type and file have come apart.
//
// What a key means is the comment at its field. A line behind the field counts, or else the lines before it.
//
// # Units and signs
//
// It knows of neither: keys say their unit in their name.
//
// # Sources
//
// JSON Schema, draft 2020-12.
package schematest

import (
	"cmp"
	"go/ast"
	"go/parser"
	"go/token"
	"path/filepath"
	"reflect"
	"regexp"
	"strings"
)

// Comments are what packages say of their types and of the fields in them, by "record.Result" and
// "record.Result.Seed".
type Comments map[string]string

// CommentsOf reads the comments in the Go files of folders; tests among them are left out.
func CommentsOf(folders ...string) (Comments, error) {
	c := Comments{}
	for _, folder := range folders {
		paths, err := filepath.Glob(filepath.Join(folder, "*.go"))
		if err != nil {
			return nil, err
		}
		for _, path := range paths {
			if strings.HasSuffix(path, "_test.go") {
				continue
			}
			f, err := parser.ParseFile(token.NewFileSet(), path, nil, parser.ParseComments)
			if err != nil {
				return nil, err
			}
			c.file(f)
		}
	}
	return c, nil
}

// file takes in the comments of one file.
func (c Comments) file(f *ast.File) {
	for _, d := range f.Decls {
		g, ok := d.(*ast.GenDecl)
		if !ok {
			continue
		}
		for _, spec := range g.Specs {
			t, ok := spec.(*ast.TypeSpec)
			if !ok {
				continue
			}
			name := f.Name.Name + "." + t.Name.Name
			c[name] = textOf(t.Doc, g.Doc)
			if s, ok := t.Type.(*ast.StructType); ok {
				for _, field := range s.Fields.List {
					for _, n := range field.Names {
						c[name+"."+n.Name] = textOf(field.Comment, field.Doc)
					}
				}
			}
		}
	}
}

// textOf returns the first comment that is there, on one line.
func textOf(groups ...*ast.CommentGroup) string {
	for _, g := range groups {
		if text := strings.Join(strings.Fields(g.Text()), " "); text != "" {
			return text
		}
	}
	return ""
}

// nameOf is what a type's comments are found by.
func nameOf(t reflect.Type) string {
	path := t.PkgPath()
	return path[strings.LastIndexByte(path, '/')+1:] + "." + t.Name()
}

// of returns what is said of a field, or else of its type, to somebody who reads JSON.
func (c Comments) of(t reflect.Type, f reflect.StructField) string {
	if own := c[nameOf(t)+"."+f.Name]; own != "" {
		return inKeys(without(f.Name, own, " is ", " are "), t)
	}
	inner := f.Type
	for inner.Kind() == reflect.Pointer || inner.Kind() == reflect.Slice || inner.Kind() == reflect.Array {
		inner = inner.Elem()
	}
	return c.ofType(inner)
}

// ofType returns what is said of a type in the same way, without its name, which JSON does not have.
func (c Comments) ofType(t reflect.Type) string {
	return inKeys(without(t.Name(), c[nameOf(t)], " is ", " are ", " says "), t)
}

// without leaves out the name that a comment begins with, and the verb behind it.
func without(name, text string, verbs ...string) string {
	for _, verb := range verbs {
		if rest, ok := strings.CutPrefix(text, name+verb); ok && rest != "" {
			return strings.ToUpper(rest[:1]) + rest[1:]
		}
	}
	return text
}

// goName is a word that may be the name of a field or a type.
var goName = regexp.MustCompile(`\b[A-Z]\w*\b`)

// inKeys writes a comment with the keys of a struct in place of the names of its fields.
func inKeys(text string, t reflect.Type) string {
	if t.Kind() != reflect.Struct {
		return text
	}
	keys := map[string]string{}
	for _, f := range fields(t) {
		keys[f.field.Name] = f.key
	}
	return goName.ReplaceAllStringFunc(text, func(word string) string { return cmp.Or(keys[word], word) })
}
