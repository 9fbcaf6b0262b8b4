package main_test

import (
	"errors"
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"os/exec"
	"path"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"

	"github.com/stretchr/testify/require"
)

// module is the module's path, and the prefix of its packages' import paths.
const module = "hilrig"

// repository is the folder that holds go.mod, as seen from this package.
const repository = "../.."

// goFile is one parsed Go file of the repository, whatever its build tags.
type goFile struct {
	path   string // from the top of the repository, with slashes
	folder string // the package's folder, "." for the top
	test   bool
	syntax *ast.File
	lines  int
}

// goFiles returns every Go file of the repository, comments included, for all to read and none to
// change. They are read here, so that a cached test result goes stale when one changes.
func goFiles(t *testing.T) (*token.FileSet, []goFile) {
	t.Helper()
	p := parsed()
	require.NoError(t, p.err)
	require.NotEmpty(t, p.files, "no Go files found under %s", repository)
	return p.set, slices.Clone(p.files)
}

// parsedFiles are the Go files of the repository.
type parsedFiles struct {
	set   *token.FileSet
	files []goFile
	err   error
}

// parsed parses them once for all tests.
var parsed = sync.OnceValue(func() parsedFiles {
	p := parsedFiles{set: token.NewFileSet()}
	names, err := namesOnce()
	if err != nil {
		return parsedFiles{err: err}
	}
	for _, name := range names {
		if path.Ext(name) != ".go" || inTestdata(name) {
			continue
		}
		source, err := os.ReadFile(filepath.Join(repository, name))
		if err != nil {
			return parsedFiles{err: err}
		}
		syntax, err := parser.ParseFile(p.set, name, source, parser.ParseComments|parser.SkipObjectResolution)
		if err != nil {
			return parsedFiles{err: err}
		}
		p.files = append(p.files, goFile{
			path:   name,
			folder: path.Dir(name),
			test:   strings.HasSuffix(name, "_test.go"),
			syntax: syntax,
			lines:  strings.Count(string(source), "\n"),
		})
	}
	return p
})

// repositoryFiles lists the files that belong to the repository, in order:
// those that git tracks or would track, or, where this is not a checkout, all.
func repositoryFiles(t *testing.T) []string {
	t.Helper()
	names, err := namesOnce()
	require.NoError(t, err)
	return slices.Clone(names)
}

// namesOnce lists them once for all tests.
var namesOnce = sync.OnceValues(func() ([]string, error) {
	var walked []string
	err := fs.WalkDir(os.DirFS(repository), ".", func(name string, entry fs.DirEntry, err error) error {
		switch {
		case err != nil && errors.Is(err, fs.ErrNotExist): // gone since its folder was read
			return nil
		case err != nil:
			return err
		case entry.IsDir() && name == ".git":
			return fs.SkipDir
		case !entry.IsDir():
			walked = append(walked, name)
		}
		return nil
	})
	if err != nil {
		return nil, err
	}

	git := exec.Command("git", "ls-files", "-z", "--cached", "--others", "--exclude-standard")
	git.Dir = repository
	tracked, err := git.Output()
	known := strings.Split(string(tracked), "\x00")
	if err != nil || !slices.Contains(known, "go.mod") {
		return walked, nil
	}
	slices.Sort(known)
	return slices.DeleteFunc(walked, func(name string) bool {
		_, found := slices.BinarySearch(known, name)
		return !found
	}), nil
})

// inTestdata says whether the Go tools pass a file over.
func inTestdata(name string) bool {
	return slices.Contains(strings.Split(path.Dir(name), "/"), "testdata")
}

// under says whether a folder is one of tops or lies in one of them.
func under(folder string, tops ...string) bool {
	return slices.ContainsFunc(tops, func(top string) bool {
		return folder == top || strings.HasPrefix(folder, top+"/")
	})
}

// importedAs returns the name under which a file knows an import, "" where it
// does not import it. "." and "_" are returned as they stand.
func (f goFile) importedAs(importPath string) string {
	for _, spec := range f.syntax.Imports {
		if strings.Trim(spec.Path.Value, "`\"") != importPath {
			continue
		}
		if spec.Name != nil {
			return spec.Name.Name
		}
		name := path.Base(importPath)
		if name == "v2" {
			name = path.Base(path.Dir(importPath))
		}
		return name
	}
	return ""
}
