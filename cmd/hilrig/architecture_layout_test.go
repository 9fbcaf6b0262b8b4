package main_test

import (
	"bytes"
	"go/token"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The top level is the table of contents of the repository: it stays fixed.
func TestTopLevelHoldsOnlyItsFixedNames(t *testing.T) {
	allowed := []string{
		"cmd", "rig", "stimulus", "plant", "assertions", "suites",
		"README.md", "DEVELOPERS.md", "go.mod", "go.sum",
	}
	for _, name := range repositoryFiles(t) {
		top, rest, _ := strings.Cut(name, "/")
		assert.True(t, strings.HasPrefix(top, ".") || slices.Contains(allowed, top),
			"%s: %q may not stand at the top level; it holds %s and dot-files", name, top, strings.Join(allowed, ", "))
		if top == "cmd" {
			assert.True(t, strings.HasPrefix(rest, "hilrig/"), "%s: cmd holds only cmd/hilrig", name)
		}
	}
}

// A package without a doc comment hides its purpose; with two, they disagree.
func TestEveryPackageHasOneDocComment(t *testing.T) {
	_, files := goFiles(t)
	docs := map[string][]string{}
	for _, f := range files {
		if f.test {
			continue
		}
		found := docs[f.folder]
		if f.syntax.Doc != nil {
			found = append(found, f.path)
			start := "Package " + f.syntax.Name.Name + " "
			if f.syntax.Name.Name == "main" {
				start = "Command " + path.Base(f.folder) + " "
			}
			assert.True(t, strings.HasPrefix(f.syntax.Doc.Text(), start), "%s: start the package comment with %q", f.path, start)
		}
		docs[f.folder] = found
	}
	for folder, found := range docs {
		assert.Len(t, found, 1, "%s: a package has its doc comment in exactly one file", folder)
	}
}

// No file is so long that its name no longer says the one thing inside.
func TestNoFileIsLongerThan500Lines(t *testing.T) {
	_, files := goFiles(t)
	for _, f := range files {
		if !f.test {
			assert.LessOrEqual(t, f.lines, 500, "%s: split it by what it does", f.path)
		}
	}
}

// The command line stays so small that its files can be read in an afternoon: what decides,
// measures and judges stands below it.
func TestTheCommandLineStaysSmall(t *testing.T) {
	const most = 4500
	lines := 0
	_, files := goFiles(t)
	for _, f := range files {
		if f.test || f.folder != "cmd/hilrig" {
			continue
		}
		content, err := os.ReadFile(filepath.Join(repository, f.path))
		require.NoError(t, err)
		for line := range strings.Lines(string(content)) {
			if line = strings.TrimSpace(line); line != "" && !strings.HasPrefix(line, "//") {
				lines++
			}
		}
	}
	assert.Positive(t, lines)
	assert.Less(t, lines, most, "cmd/hilrig has %d lines without comments, blanks and tests; move what does more than wire and print to a package below", lines)
}

// Folder and file names that say nothing collect everything.
func TestNoPackageIsADrawer(t *testing.T) {
	drawers := []string{"util", "utils", "common", "types", "helpers", "misc", "base", "shared"}
	_, files := goFiles(t)
	for _, f := range files {
		assert.NotContains(t, drawers, f.syntax.Name.Name, "%s: name the package for what it provides", f.path)
		assert.NotContains(t, drawers, strings.TrimSuffix(path.Base(f.path), ".go"), "%s: name the file for what is inside", f.path)
	}
}

// The go command hands C files beside Go files to cgo, and refuses them in a
// package without it.
func TestCSourcesLieInFoldersWithoutGoFiles(t *testing.T) {
	inGo := map[string]bool{}
	for _, name := range repositoryFiles(t) {
		inGo[path.Dir(name)] = inGo[path.Dir(name)] || path.Ext(name) == ".go"
	}
	for _, name := range repositoryFiles(t) {
		if slices.Contains([]string{".c", ".h", ".cc", ".cpp", ".S"}, path.Ext(name)) {
			assert.False(t, inGo[path.Dir(name)], "%s: move it to a folder without Go files", name)
		}
	}
}

// What works only in one person's folders does not work in a fresh clone.
func TestNoFileNamesAFolderOfOneMachine(t *testing.T) {
	folders := []string{"/wo" + "rk/", "/tmp/ba" + "sh_jobs", "/ro" + "ot/"}
	for _, name := range repositoryFiles(t) {
		content, err := os.ReadFile(filepath.Join(repository, name))
		require.NoError(t, err)
		for _, folder := range folders {
			if before, _, found := bytes.Cut(content, []byte(folder)); found {
				t.Errorf("%s:%d: names the folder %s, which other machines do not have", name, 1+bytes.Count(before, []byte("\n")), folder)
			}
		}
	}
}

// Build tags hide a file from the checks of the machine that runs them, so
// only these may be used.
func TestBuildTagsAreKnown(t *testing.T) {
	known := []string{"full", "gpiovm", "pivm", "realtime", "linux", "amd64", "arm64", "arm", "race", "unix"}
	set, files := goFiles(t)
	for _, f := range files {
		for _, group := range f.syntax.Comments {
			for _, comment := range group.List {
				condition, found := strings.CutPrefix(comment.Text, "//go:build ")
				if !found {
					continue
				}
				for tag := range strings.FieldsFuncSeq(condition, func(r rune) bool { return strings.ContainsRune(" !&|()", r) }) {
					assert.Contains(t, known, tag, "%s: unknown build tag", position(set, comment.Pos()))
				}
			}
		}
	}
}

// position returns file:line of a place in the repository.
func position(set *token.FileSet, at token.Pos) string {
	where := set.Position(at)
	where.Column = 0
	return where.String()
}
