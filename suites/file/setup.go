package file

import (
	"fmt"
	"path"

	"hilrig/suites/language"
)

// SetupTable declares the setup file.
var SetupTable = language.NewTable("a setup file", "`hilrig.yaml` in the working folder says which car, bench and suites are meant there, so that they are not typed each time; and in any folder, what the folder's name stands for, as in `hilrig run mycar`. What is typed goes first, and each command says what it took from the file.", []language.Key{
	{Name: "setup", Kind: language.Text, Required: true, Example: "mycar", Doc: "name of the setup"},
	{Name: "about", Kind: language.Text, Doc: "what it is, in a sentence"},
	{Name: "car", Kind: language.Text, Required: true, Example: "car.yaml", Doc: "the car file, from the folder of this file"},
	{Name: "bench", Kind: language.Text, Required: true, Example: "bench.yaml", Doc: "the bench file, from the folder of this file"},
	{Name: "suites", Kind: language.Text, Many: language.OneOrList, Example: "suite.yaml", Doc: "what is played where no suite is named: suite files, from the folder of this file, and names of standard suites; left out: all standard suites"},
	{Name: "stand", Kind: language.Text, Example: "stand.yaml", Doc: "the stand file for `hilrig esc`, from the folder of this file; left out: it is typed"},
})

// Named is a file that a setup file names.
type Named struct {
	Key  string // "car"
	Path string // as it is written
	language.Place
}

// SetupFile is what a setup file declares.
type SetupFile struct {
	Source language.Source
	Name   string
	About  string
	Car    Named
	Bench  Named
	Suites []Named // none: all standard suites
	Stand  *Named  // nil: none
}

// ParseSetup reads a setup file. It opens none of the files that it names. The error is of type [language.Problems].
func ParseSetup(s language.Source) (*SetupFile, error) {
	r, v := open(s, SetupTable)
	if v == nil {
		return nil, r.Problems.Sorted()
	}
	all := &SetupFile{Source: s, Name: v.Word("setup"), About: v.Word("about")}
	named := func(key string, x *language.Value) Named {
		r.namesAFile(key, x)
		return Named{key, x.Word, r.PlaceOf(x.Node)}
	}
	if x := v.Get("car"); x != nil {
		all.Car = named("car", x)
	}
	if x := v.Get("bench"); x != nil {
		all.Bench = named("bench", x)
	}
	lines := map[string]int{}
	for _, x := range v.List("suites") {
		if x.Bad {
			continue
		}
		if line := lines[x.Word]; line > 0 {
			r.Report(x.Node, fmt.Sprintf("suite %q stands twice, first on line %d", language.Brief(x.Word), line), "take one of them away")
		}
		lines[x.Word] = x.Node.Line
		all.Suites = append(all.Suites, named("suites", &x))
	}
	if x := v.Get("stand"); x != nil {
		all.Stand = new(named("stand", x))
	}
	if len(r.Problems) > 0 {
		return nil, r.Problems.Sorted()
	}
	return all, nil
}

// namesAFile reports a text that is no YAML file, where it has to be one.
func (r *reader) namesAFile(key string, x *language.Value) {
	if ext := path.Ext(x.Word); key != "suites" && ext != ".yaml" && ext != ".yml" {
		r.Report(x.Node, fmt.Sprintf("%s is %q, which is no YAML file", key, language.Brief(x.Word)), "write the file that is meant, as "+key+": "+key+".yaml")
	}
}

// All lists the files that it names, suites last but for the stand.
func (s *SetupFile) All() []Named {
	all := append([]Named{s.Car, s.Bench}, s.Suites...)
	if s.Stand != nil {
		all = append(all, *s.Stand)
	}
	return all
}

// Beside returns the path of a file that it names, for whoever found it at its own path.
func (s *SetupFile) Beside(n Named) string {
	if path.IsAbs(n.Path) {
		return n.Path
	}
	return path.Join(path.Dir(s.Source.Path), n.Path)
}
