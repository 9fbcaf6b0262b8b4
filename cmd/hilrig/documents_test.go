package main_test

import (
	"bytes"
	"os"
	"path"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A newcomer reads README in one go; what is longer stands in the guides beside the code.
func TestTheReadmeIsShort(t *testing.T) {
	text, err := os.ReadFile(filepath.Join(repository, "README.md"))
	require.NoError(t, err)
	assert.LessOrEqual(t, bytes.Count(text, []byte("\n")), 150, "README.md: move what is too much into the guide that it belongs to")
}

// link finds the target of a link or of a picture in a document.
var link = regexp.MustCompile(`\]\(([^)\s]+)\)`)

// Whoever follows a link of a document finds a file that the repository has, and the
// heading in it.
func TestLinksOfTheDocumentsLeadSomewhere(t *testing.T) {
	files := repositoryFiles(t)
	found := 0
	for _, name := range files {
		if path.Ext(name) != ".md" || strings.Contains(name, "/testdata/") {
			continue
		}
		text := document(t, name)
		for _, match := range link.FindAllStringSubmatch(text, -1) {
			if strings.Contains(match[1], "://") {
				continue
			}
			found++
			target, heading, _ := strings.Cut(match[1], "#")
			where := name
			if target != "" {
				where = path.Join(path.Dir(name), target)
			}
			if !assert.True(t, has(files, where), "%s: the link to %s leads nowhere", name, match[1]) || heading == "" {
				continue
			}
			assert.True(t, slices.Contains(headings(document(t, where)), heading), "%s: %s has no heading #%s", name, where, heading)
		}
	}
	assert.Greater(t, found, 10, "links were found at all")
}

// named finds what a document writes as code.
var named = regexp.MustCompile("`([^`\n]+)`")

// A recipe that names a file or a folder names one that is there.
func TestTheDocumentsNameFilesThatAreThere(t *testing.T) {
	found := 0
	for _, name := range repositoryFiles(t) {
		if path.Ext(name) != ".md" {
			continue
		}
		for _, match := range named.FindAllStringSubmatch(document(t, name), -1) {
			for word := range strings.FieldsSeq(match[1]) {
				top, rest, _ := strings.Cut(word, "/")
				if rest == "" || !slices.Contains([]string{"cmd", "rig", "stimulus", "plant", "assertions", "suites", ".ci"}, top) {
					continue
				}
				found++
				matches, err := filepath.Glob(filepath.Join(repository, word))
				assert.NoError(t, err, "%s: %s", name, word)
				assert.NotEmpty(t, matches, "%s: %s is not there", name, word)
			}
		}
	}
	assert.Greater(t, found, 10, "names were found at all")
}

// The house in DEVELOPERS.md has a line for each package, and none for what is gone.
func TestTheHouseShowsEveryPackage(t *testing.T) {
	_, rest, _ := strings.Cut(document(t, "DEVELOPERS.md"), "## The house")
	_, rest, _ = strings.Cut(rest, "```\n")
	house, _, found := strings.Cut(rest, "```\n")
	require.True(t, found, "DEVELOPERS.md draws the house")
	shown := regexp.MustCompile(`(?m)(?:^|^  │  |  )((?:cmd|rig|stimulus|plant|assertions|suites)(?:/[a-z0-9]+)*)(?: |$)`)
	var rooms []string
	for _, match := range shown.FindAllStringSubmatch(house, -1) {
		rooms = append(rooms, match[1])
	}
	files := repositoryFiles(t)
	for _, room := range rooms {
		assert.True(t, has(files, room), "DEVELOPERS.md: the house shows %s, which is not there", room)
	}
	_, parsed := goFiles(t)
	for _, f := range parsed {
		if !f.test && !strings.HasPrefix(f.folder, ".") {
			assert.True(t, slices.Contains(rooms, f.folder), "DEVELOPERS.md: the house lacks %s", f.folder)
		}
	}
}

// document returns the text of a document of the repository.
func document(t *testing.T, name string) string {
	t.Helper()
	text, err := os.ReadFile(filepath.Join(repository, name))
	require.NoError(t, err)
	return string(text)
}

// has says whether name is one of the files or a folder that holds some.
func has(files []string, name string) bool {
	for _, f := range files {
		if f == name || strings.HasPrefix(f, name+"/") {
			return true
		}
	}
	return false
}

// anchor finds a place of a document that has a name of its own.
var anchor = regexp.MustCompile(`<a id="([^"]+)">`)

// headings returns the names by which links reach the headings of a document: in lower
// case, without punctuation, with hyphens in place of spaces; and its named places.
func headings(text string) (names []string) {
	for _, match := range anchor.FindAllStringSubmatch(text, -1) {
		names = append(names, match[1])
	}
	for line := range strings.Lines(text) {
		title := strings.TrimLeft(line, "#")
		if title == line || !strings.HasPrefix(title, " ") {
			continue
		}
		names = append(names, strings.Map(func(r rune) rune {
			switch {
			case r == ' ':
				return '-'
			case strings.ContainsRune("?!.,:;'`\"()*", r):
				return -1
			}
			return r
		}, strings.ToLower(strings.TrimSpace(title))))
	}
	return names
}
