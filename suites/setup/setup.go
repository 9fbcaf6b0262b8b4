// Package setup finds which car, bench and suites are meant: those that are typed, those of a folder that is typed, and those
// that hilrig.yaml in the working folder names, in this order.
//
// A folder stands for what the hilrig.yaml in it names, and without one for the car.yaml, bench.yaml and
// suite.yaml that are in it, which hilrig new makes.
package setup

import (
	"errors"
	"fmt"
	"io/fs"
	"path"
	"path/filepath"
	"slices"
	"strings"
	"syscall"

	"hilrig/suites/file"
	"hilrig/suites/language"
	"hilrig/suites/standard"
)

// FileName is the name of a setup file.
const FileName = "hilrig.yaml"

// Files reads files. Find says by ok whether there is one at a path; its error is that of one that is there and
// cannot be read.
type Files interface {
	Find(path string) (data []byte, ok bool, err error)
}

// Typed is what a command line names.
type Typed struct {
	Car, Bench string   // files or folders; empty: none is typed
	Names      []string // suites by name or path, and folders
	NoSuites   bool     // the command plays no suites: names are folders
}

// Found is what is meant.
type Found struct {
	Car, Bench string   // paths; empty: the demo's are meant
	Suites     []string // names of standard suites and paths of files; none: what the command plays by itself
	Stand      string   // path; empty: none is named
	Files      []string // of a setup file and what it names, where one was used, car and bench that are typed in place of its own
	Taken      []string // what was not typed and where it is from, a sentence each

	folder bool // one was typed
}

// NoFolder is the error of a name that stands where only a folder may, and is that of none which stands for a setup.
type NoFolder string

func (n NoFolder) Error() string {
	return fmt.Sprintf("%s is no folder with a %s, or with a car.yaml and a bench.yaml; hilrig new %[1]s makes one", string(n), FileName)
}

// Find finds what is meant. Its error names what is wrong with a setup file, at its place.
func Find(t Typed, files Files) (*Found, error) {
	f := &Found{}
	var folders []*folder
	for _, name := range t.Names {
		d, err := folderAt(name, files)
		switch {
		case err != nil:
			return nil, err
		case d == nil && t.NoSuites:
			return nil, NoFolder(name)
		case d == nil:
			f.Suites = append(f.Suites, name)
			continue
		}
		folders = append(folders, d)
		f.Suites = append(f.Suites, d.suites...)
	}
	if len(folders) > 1 {
		return nil, fmt.Errorf("%s and %s each stand for a car; name one of them", folders[0].path, folders[1].path)
	}
	var err error
	if f.Car, err = fileOf(t.Car, "car", files); err != nil {
		return nil, err
	}
	if f.Bench, err = fileOf(t.Bench, "bench", files); err != nil {
		return nil, err
	}
	if len(folders) == 1 {
		f.folder = true
		f.take(folders[0], false)
		return f, nil
	}
	here, err := setupAt(FileName, files)
	if err != nil || here == nil {
		f.Files = f.instead(&folder{})
		return f, err
	}
	f.take(here, len(t.Names) == 0 && !t.NoSuites)
	return f, nil
}

// instead returns the files of a folder, car and bench that are typed in place of its own.
func (f *Found) instead(d *folder) []string {
	names := slices.DeleteFunc(slices.Clone(d.files), func(name string) bool {
		return name == d.car && f.Car != d.car || name == d.bench && f.Bench != d.bench
	})
	for _, typed := range []string{f.Car, f.Bench} {
		if typed != "" && !slices.Contains(names, typed) {
			names = append(names, typed)
		}
	}
	return names
}

// take takes from a folder what is not typed.
func (f *Found) take(d *folder, suites bool) {
	var taken []string
	if f.Car == "" && d.car != "" {
		f.Car = d.car
		taken = append(taken, "car "+d.car)
	}
	if f.Bench == "" && d.bench != "" {
		f.Bench = d.bench
		taken = append(taken, "bench "+d.bench)
	}
	f.Stand, f.Files = d.stand, f.instead(d)
	if suites {
		f.Suites = d.suites
	}
	if len(d.suites) > 0 && (suites || d.path != "") {
		taken = append(taken, "suites "+strings.Join(d.suites, ", "))
	}
	if len(taken) > 0 {
		f.Taken = append(f.Taken, "from "+d.from+": "+strings.Join(taken, "; "))
	}
}

// folder is what a folder stands for.
type folder struct {
	path       string // as it was typed; empty: the working folder, which was not
	from       string // what says so, for a person
	car, bench string
	suites     []string
	stand      string
	files      []string
}

// fileOf returns the path of a car or bench file that is typed, or of the one in a folder that is.
func fileOf(typed, key string, files Files) (string, error) {
	if typed == "" || isYAML(typed) {
		return typed, nil
	}
	d, err := folderAt(typed, files)
	if err != nil || d == nil {
		return typed, err // whoever reads it says what is wrong
	}
	return map[string]string{"car": d.car, "bench": d.bench}[key], nil
}

// isYAML says whether a path is that of a YAML file by its name.
func isYAML(name string) bool { return slices.Contains([]string{".yaml", ".yml"}, filepath.Ext(name)) }

// folderAt returns what a folder stands for; nil where there is no such folder, or the name is that of a standard suite or
// of a file.
func folderAt(name string, files Files) (*folder, error) {
	if name == "" || !IsOwn(name) || name == standard.Life || isYAML(name) || strings.Contains(name, "=") {
		return nil, nil
	}
	at := filepath.ToSlash(name)
	d, err := setupAt(path.Join(at, FileName), files)
	if errors.Is(err, syscall.ENOTDIR) { // it is a file
		return nil, nil
	}
	if d != nil || err != nil {
		if d != nil {
			d.path = name
		}
		return d, err
	}
	d = &folder{path: name, from: name}
	for _, one := range []struct {
		base string
		path *string
	}{{"car.yaml", &d.car}, {"bench.yaml", &d.bench}, {"stand.yaml", &d.stand}} {
		if *one.path, err = d.has(path.Join(at, one.base), files); err != nil {
			return nil, err
		}
	}
	suite, err := d.has(path.Join(at, "suite.yaml"), files)
	if err != nil {
		return nil, err
	}
	if suite != "" {
		d.suites = []string{suite}
	}
	if d.car == "" && d.bench == "" && d.stand == "" {
		return nil, nil
	}
	return d, nil
}

// has returns a path where there is a file at it, which it notes, or else nothing.
func (d *folder) has(at string, files Files) (string, error) {
	_, ok, err := files.Find(at)
	if err != nil || !ok {
		return "", err
	}
	d.files = append(d.files, at)
	return at, nil
}

// setupAt returns what a setup file names; nil where there is none at the path.
func setupAt(at string, files Files) (*folder, error) {
	data, ok, err := files.Find(at)
	if err != nil || !ok {
		return nil, err
	}
	s, err := file.ParseSetup(language.Source{Path: at, Data: data})
	if err != nil {
		return nil, err
	}
	d := &folder{from: at, files: []string{at}}
	var problems language.Problems
	for _, n := range s.All() {
		if n.Key == "suites" && (!IsOwn(n.Path) || n.Path == standard.Life) {
			d.suites = append(d.suites, n.Path)
			continue
		}
		beside := s.Beside(n)
		if _, ok, err := files.Find(beside); err != nil || !ok {
			problems = append(problems, unread(n, beside, err, alike(s, n, files)))
			continue
		}
		d.files = append(d.files, beside)
		switch n.Key {
		case "car":
			d.car = beside
		case "bench":
			d.bench = beside
		case "suites":
			d.suites = append(d.suites, beside)
		case "stand":
			d.stand = beside
		}
	}
	if err := problems.Sorted(); err != nil {
		return nil, err
	}
	return d, nil
}

// unread is the problem of a name that is no file that can be read; instead is one that is there, empty: none is known.
func unread(n file.Named, beside string, err error, instead string) language.Problem {
	x := language.Problem{Place: n.Place, Value: n.Path, Message: fmt.Sprintf("%s: %s is not there", n.Key, beside), Remedy: "name a file from the folder of " + FileName}
	var p *fs.PathError
	switch {
	case errors.As(err, &p):
		x.Message = fmt.Sprintf("%s: %s cannot be read: %s", n.Key, beside, p.Err)
	case err != nil:
		x.Message, x.Remedy = fmt.Sprintf("%s: %s", n.Key, err), "" // which has its own
	case instead != "":
		x.Remedy = "write " + instead + ", which is"
	case n.Key == "suites" && !isYAML(n.Path):
		x.Remedy = "name a suite file from the folder of " + FileName + ", or a standard suite: " + language.Instead(n.Path, standard.Names())
	}
	return x
}

// alike returns a file that is there and may be meant by a name at which nothing is: with slashes for another system's
// backslashes, with the other ending, or as hilrig new calls such a file; empty: there is none.
func alike(s *file.SetupFile, n file.Named, files Files) string {
	slashed := path.Clean(strings.ReplaceAll(n.Path, `\`, "/"))
	stem, folder := strings.TrimSuffix(slashed, path.Ext(slashed)), path.Dir(slashed)
	names := []string{slashed, stem + ".yml", stem + ".yaml", strings.ToLower(slashed)}
	if isYAML(slashed) { // else it may be the name of a standard suite
		names = append(names, path.Join(folder, strings.TrimSuffix(n.Key, "s")+".yaml"))
	}
	for _, name := range names {
		other := n
		other.Path = name
		if _, ok, err := files.Find(s.Beside(other)); ok && err == nil && name != n.Path {
			return name
		}
	}
	return ""
}

// Given returns the files that a command is to look into which takes files of any kind: those that were typed and, for a folder
// or where nothing was typed, a setup file and all that it names, with car and bench that flags name in place of its own.
func (f *Found) Given(typed []string) []string {
	if len(typed) == 0 {
		return f.Files
	}
	names := slices.Clone(f.Suites)
	if f.folder {
		names = slices.DeleteFunc(names, func(name string) bool { return slices.Contains(f.Files, name) })
		names = append(names, f.Files...)
	}
	return names
}

// Folders parts what is typed into folders, and words with an equals sign.
func Folders(args []string) (folders, words []string) {
	for _, a := range args {
		if a != "" && !strings.Contains(a, "=") {
			folders = append(folders, a)
		} else {
			words = append(words, a)
		}
	}
	return folders, words
}

// Stand returns the path of the stand file that is meant: the one that is typed, or of the folder that is, or that hilrig.yaml
// in the working folder names; empty: none.
func Stand(typed []string, files Files) (string, error) {
	if len(typed) == 0 {
		here, err := setupAt(FileName, files)
		if here == nil {
			return "", err
		}
		return here.stand, err
	}
	d, err := folderAt(typed[0], files)
	switch {
	case err != nil:
		return "", err
	case d == nil:
		return typed[0], nil
	case d.stand == "":
		return "", fmt.Errorf("%s names no stand; hilrig new --stand %s makes one", d.from, typed[0])
	}
	return d.stand, nil
}
