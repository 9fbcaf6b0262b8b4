package main

import (
	"errors"
	"fmt"
	"go/build"
	"go/parser"
	"go/token"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"

	"github.com/goccy/go-yaml"
)

// row is one broken version: in that declaration of that file, Text, which occurs
// there once, is replaced by With.
type row struct {
	Name   string
	File   string // from the module's root
	In     string // a function, a method as Type.method, or a variable, constant or type
	Text   string
	With   string
	Breaks string // a sentence: what is wrong then
	Killer killer `yaml:"killed_by"`
}

// killer is the test that has to fail.
type killer struct {
	Package string // "./plant"
	Run     string // as for go test -run
	Tags    string
	Env     map[string]string
}

// load reads the table. The error names what is wrong with every row.
func load(path string) ([]row, error) {
	data, err := os.ReadFile(path)
	if err != nil {
		return nil, fmt.Errorf("%w; run this from the module's root", err)
	}
	var rows []row
	if err := yaml.UnmarshalWithOptions(data, &rows, yaml.Strict()); err != nil {
		return nil, fmt.Errorf("%s: %w", path, err)
	}
	var problems []error
	named := map[string]bool{}
	for _, r := range rows {
		switch {
		case named[r.Name]:
			problems = append(problems, fmt.Errorf("%s: two rows are called %q; give each a name of its own", path, r.Name))
		case r.Name == "" || r.File == "" || r.In == "" || r.Text == "" || r.Breaks == "" || r.Killer.Package == "" || r.Killer.Run == "":
			problems = append(problems, fmt.Errorf("%s: row %q lacks one of name, file, in, text, breaks, killed_by: {package, run}", path, r.Name))
		case r.Text == r.With:
			problems = append(problems, fmt.Errorf("%s: row %q changes nothing", path, r.Name))
		}
		named[r.Name] = true
	}
	return rows, errors.Join(problems...)
}

// checkAll says which rows do not apply, which give no Go, and whose test is missing.
func checkAll(rows []row) error {
	var problems []error
	tests := map[string][]string{}
	for _, r := range rows {
		changed, err := r.apply()
		if err == nil {
			_, err = parser.ParseFile(token.NewFileSet(), r.File, changed, parser.SkipObjectResolution)
		}
		if err == nil {
			err = r.Killer.exists(tests)
		}
		if err != nil {
			problems = append(problems, fmt.Errorf("%s: %w", r.Name, err))
		}
	}
	return errors.Join(problems...)
}

// exists says that no test of the package is one that Run names. Known keeps the
// names of tests by package and tags.
func (k killer) exists(known map[string][]string) error {
	top, _, _ := strings.Cut(k.Run, "/")
	pattern, err := regexp.Compile(top)
	if err != nil {
		return fmt.Errorf("killed_by: %w", err)
	}
	key := k.Package + " " + k.Tags
	if known[key] == nil {
		if known[key], err = testsOf(k.Package, k.Tags); err != nil {
			return fmt.Errorf("killed_by: %w", err)
		}
	}
	if slices.ContainsFunc(known[key], pattern.MatchString) {
		return nil
	}
	return fmt.Errorf("%s has no test that %q matches; name the one that takes its place", k.Package, k.Run)
}

var testFunction = regexp.MustCompile(`(?m)^func ((?:Test|Fuzz|Example)\w*)\(`)

// testsOf returns the names of a package's tests as they are built with tags.
func testsOf(folder, tags string) ([]string, error) {
	context := build.Default
	context.BuildTags = strings.FieldsFunc(tags, func(r rune) bool { return r == ',' })
	p, err := context.ImportDir(folder, 0)
	if err != nil {
		return nil, err
	}
	var names []string
	for _, file := range append(p.TestGoFiles, p.XTestGoFiles...) {
		data, err := os.ReadFile(filepath.Join(folder, file))
		if err != nil {
			return nil, err
		}
		for _, found := range testFunction.FindAllSubmatch(data, -1) {
			names = append(names, string(found[1]))
		}
	}
	return names, nil
}
