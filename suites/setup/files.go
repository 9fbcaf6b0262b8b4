package setup

import (
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"hilrig/suites"
	"hilrig/suites/demo"
	"hilrig/suites/language"
	"hilrig/suites/standard"
)

// Reader reads what somebody wrote by hand, and drive logs.
type Reader interface {
	Read(path string) ([]byte, error)
	ReadLog(path string) ([]byte, error)
}

// Read adds to what is already said of it the files of a car, a bench and suites, read and not looked into. Where no car or
// bench is named they are the demo's of the board.
func Read(of suites.Files, car, bench string, names []string, files Reader) (suites.Files, error) {
	own := demo.Of(of.Board)
	of.Car = language.Source{Path: own.CarPath, Data: own.Car}
	of.Bench = language.Source{Path: own.BenchPath, Data: own.Bench}
	of.Read = demo.LogReader(files.ReadLog, slices.ContainsFunc(names, IsOwn))
	for _, named := range []struct {
		flag, path string
		source     *language.Source
	}{{"--car", car, &of.Car}, {"--bench", bench, &of.Bench}} {
		if named.path == "" {
			continue
		}
		data, err := files.Read(named.path)
		if err != nil {
			return of, fmt.Errorf("%s: %w", named.flag, err)
		}
		*named.source = language.Source{Path: named.path, Data: data}
	}
	for _, name := range names {
		source, err := suiteNamed(name, files)
		if err != nil {
			return of, err
		}
		of.Suites = append(of.Suites, source)
	}
	return of, nil
}

// suiteNamed returns a standard suite or the file at a path.
func suiteNamed(name string, files Reader) (language.Source, error) {
	if path, data, ok := standard.Source(name); ok {
		return language.Source{Path: path, Data: data}, nil
	}
	if info, err := os.Stat(name); err == nil && info.IsDir() {
		return language.Source{}, NoFolder(name)
	}
	if !isYAML(name) && !strings.ContainsRune(name, filepath.Separator) {
		known := append(standard.Names(), standard.Soak)
		near := language.Nearest(name, append(Here(), known...))
		if _, err := os.Stat(name + ".yaml"); err == nil {
			near = name + ".yaml"
		}
		if near != "" {
			return language.Source{}, fmt.Errorf("suite %q is not known; use %s", name, near)
		}
		return language.Source{}, fmt.Errorf("suite %q is not known; use %s, the path of a YAML file, or a folder that hilrig new made", name, strings.Join(known, ", "))
	}
	data, err := files.Read(name)
	return language.Source{Path: name, Data: data}, err
}

// Here lists what in the working folder may be meant: folders that stand for a setup, each once, and YAML files.
func Here() (names []string) {
	for _, pattern := range []string{"*/" + FileName, "*/car.yaml"} {
		found, _ := filepath.Glob(pattern) // a pattern that is well formed
		for _, path := range found {
			if folder := filepath.Dir(path); !slices.Contains(names, folder) {
				names = append(names, folder)
			}
		}
	}
	found, _ := filepath.Glob("*.yaml")
	return append(names, found...)
}

// IsOwn says of the name of a suite that it is none of the standard ones.
func IsOwn(name string) bool {
	return name != standard.Soak && !slices.Contains(standard.Names(), name)
}
