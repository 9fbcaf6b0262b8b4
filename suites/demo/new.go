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
	var files []File
	for _, f := range []struct{ file, key, name string }{
		{"car.yaml", "car", name},
		{"bench.yaml", "bench", name + " bench"},
		{"suite.yaml", "suite", "first checks of " + name},
	} {
		data, err := newFiles.ReadFile("new/" + f.file)
		if err != nil {
			panic(err) // the file is part of the program
		}
		_, rest, _ := strings.Cut(string(data), "\n")
		files = append(files, File{f.file, []byte(f.key + ": " + scalar(f.name) + "\n" + rest)})
	}
	return files
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
