package suites

import (
	"cmp"
	"fmt"
	"path"
	"slices"

	"hilrig/suites/demo"
	"hilrig/suites/language"
	"hilrig/suites/standard"
)

// FileName returns how a result calls the file at a path: by the last element of the path, so that the same files give the same
// result wherever they lie and however the path is typed. Files of the program itself keep the folder that they go by.
func FileName(at string) string {
	at = path.Clean(at)
	base := path.Base(at)
	if two := path.Join(path.Base(path.Dir(at)), base); slices.Contains(ownPaths, two) {
		return two
	}
	return base
}

// ownPaths are the paths by which the program's own files go.
var ownPaths = func() []string {
	all := demo.Paths()
	for _, name := range append(standard.Names(), standard.Life, standard.Soak) {
		own, _, _ := standard.Source(name)
		all = append(all, own)
	}
	return all
}()

// nameOf returns how a result calls a file that was read.
func nameOf(s *language.Source) string { return cmp.Or(s.Name, FileName(s.Path)) }

// nameSuites gives a number to each suite that would be called as another before it.
func (s *Setup) nameSuites() {
	names, used := map[string]string{}, map[string]int{}
	for _, suite := range s.Suites {
		source := &suite.Source
		if names[source.Path] == "" {
			name := FileName(source.Path)
			if used[name]++; used[name] > 1 {
				name = fmt.Sprintf("%s (%d)", name, used[name])
			}
			names[source.Path] = name
		}
		source.Name = names[source.Path]
	}
}

// typedPaths returns the paths of a setup's files by what a result calls them, where that differs.
func (s *Setup) typedPaths() map[string]string {
	typed := map[string]string{}
	add := func(source *language.Source) {
		if name := nameOf(source); name != source.Path {
			typed[name] = source.Path
		}
	}
	for _, suite := range s.Suites {
		add(&suite.Source)
	}
	add(&s.Bench.Source)
	add(&s.Car.Source)
	return typed
}
