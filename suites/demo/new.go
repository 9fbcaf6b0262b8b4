package demo

import (
	"embed"
	"regexp"
	"slices"
	"strconv"
	"strings"
)

//go:embed new/*.yaml
var newFiles embed.FS

// File is one file to start from.
type File struct {
	Name string // "car.yaml"
	Data []byte
}

// New returns a car, a bench and a suite file to start from, in that order, for
// a car of that name. They hold Bramble's numbers, marked as guessed, so that
// they run as they are.
func New(name string) []File {
	return []File{
		newFile("car", name),
		newFile("bench", name+" bench"),
		newFile("suite", "first checks of "+name),
	}
}

// NewStand returns a stand file to start from, for a controller of a car of that name. It holds the
// numbers of Bramble's stand, marked as guessed, so that it runs as it is; the inertia is left
// out.
func NewStand(name string) File { return newFile("stand", name+" stand") }

// NewSetup returns the hilrig.yaml that names the files of New, for a setup of that name.
func NewSetup(name string) File {
	f := newFile("setup", name)
	f.Name = "hilrig.yaml"
	return f
}

// newFile returns the file of a kind to start from, under its name.
func newFile(kind, name string) File {
	data, err := newFiles.ReadFile("new/" + kind + ".yaml")
	if err != nil {
		panic(err) // the file is part of the program
	}
	_, rest, _ := strings.Cut(string(data), "\n")
	return File{kind + ".yaml", []byte(kind + ": " + scalar(name) + "\n" + rest)}
}

// plain are names that YAML takes for text without quotes, but for those of
// constants.
var plain = regexp.MustCompile(`^[A-Za-z][A-Za-z0-9_-]*( [A-Za-z0-9_-]+)*$`)

// constants are words that YAML 1.2, or 1.1 before it, takes for something else
// than text.
var constants = []string{"y", "n", "yes", "no", "on", "off", "true", "false", "null"}

// scalar writes a name as YAML, in quotes where it needs some.
func scalar(name string) string {
	if plain.MatchString(name) && !slices.Contains(constants, strings.ToLower(name)) {
		return name
	}
	return strconv.Quote(name)
}
