package main_test

import (
	"bufio"
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"go/ast"
	"go/importer"
	"go/token"
	"go/types"
	"io"
	"maps"
	"os"
	"os/exec"
	"path"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The Go specification lets a compiler fuse a product into the sum that takes
// it, with one rounding instead of two, "possibly across statements"; an
// explicit conversion, float64(a*b) + c, forbids it. The compilers for arm64
// and for amd64 v3 do fuse and that for amd64 v1 does not, so that an
// unconverted product gives a run other bits on the Pi than on the desk.
//
// Two tests hold this. The first reads the source and finds products that
// stand directly in a sum. The second asks the compilers themselves, and so
// finds what reaches a sum through a variable, a field or an inlined call.

func TestNoProductStandsUnroundedInASum(t *testing.T) {
	set, files := goFiles(t)
	folders := map[string][]goFile{}
	for _, f := range files {
		if f.folder == path.Dir(policyFile) || f.reachesATrace() {
			folders[f.folder] = append(folders[f.folder], f)
		}
	}
	exports := exportData(t, slices.Sorted(maps.Keys(folders)))
	seen := 0
	for folder, files := range folders {
		info := types.Info{Types: map[ast.Expr]types.TypeAndValue{}}
		var syntax []*ast.File
		for _, f := range files {
			if slices.Contains(exports[folder].GoFiles, path.Base(f.path)) {
				syntax = append(syntax, f.syntax)
			}
		}
		config := types.Config{Importer: importer.ForCompiler(set, "gc", func(path string) (io.ReadCloser, error) {
			return os.Open(exports[strings.TrimPrefix(path, module+"/")].Export)
		})}
		_, err := config.Check(module+"/"+folder, set, syntax, &info)
		require.NoError(t, err)
		for _, f := range files {
			if f.reachesATrace() {
				seen += floatSums(f.syntax, &info, func(product ast.Expr) {
					kind := types.TypeString(info.Types[product].Type, func(*types.Package) string { return "" })
					t.Errorf("%s: a product stands unrounded in a sum: write %s(%s)", position(set, product.Pos()), kind, types.ExprString(product))
				})
			}
		}
	}
	require.NotZero(t, seen, "not one sum of floats found: the test looks in the wrong place")
}

// listed is what go list tells of a package.
type listed struct {
	ImportPath string
	GoFiles    []string
	Export     string // file with the compiled package's types
}

// exportData compiles the packages in folders and all that they import. Keys
// are folders for the project's packages, import paths for the others.
func exportData(t *testing.T, folders []string) map[string]listed {
	t.Helper()
	args := []string{"list", "-export", "-deps", "-json=ImportPath,GoFiles,Export"}
	for _, folder := range folders {
		args = append(args, "./"+folder)
	}
	command := exec.Command("go", args...)
	command.Dir = repository
	var complaints bytes.Buffer
	command.Stderr = &complaints
	out, err := command.Output()
	require.NoError(t, err, complaints.String())
	packages := map[string]listed{}
	for decoder := json.NewDecoder(bytes.NewReader(out)); ; {
		var p listed
		err := decoder.Decode(&p)
		if errors.Is(err, io.EOF) {
			return packages
		}
		require.NoError(t, err)
		packages[strings.TrimPrefix(p.ImportPath, module+"/")] = p
	}
}

// floatSums calls found for each product that is an operand of a sum of
// floats, and returns how many such sums there are.
func floatSums(file *ast.File, info *types.Info, found func(product ast.Expr)) (sums int) {
	ast.Inspect(file, func(n ast.Node) bool {
		var operands []ast.Expr
		switch n := n.(type) {
		case *ast.BinaryExpr:
			if n.Op == token.ADD || n.Op == token.SUB {
				operands = []ast.Expr{n.X, n.Y}
			}
		case *ast.AssignStmt:
			if n.Tok == token.ADD_ASSIGN || n.Tok == token.SUB_ASSIGN {
				operands = []ast.Expr{n.Lhs[0], n.Rhs[0]}
			}
		}
		if len(operands) == 0 || !runsOnFloats(info.Types[operands[0]]) && !runsOnFloats(info.Types[operands[1]]) {
			return true
		}
		sums++
		for _, operand := range operands {
			if product := unroundedProduct(operand); product != nil && info.Types[product].Value == nil {
				found(product)
			}
		}
		return true
	})
	return sums
}

// unroundedProduct returns the product that expression is but for signs and
// parentheses, nil where it is none.
func unroundedProduct(expression ast.Expr) ast.Expr {
	switch e := ast.Unparen(expression).(type) {
	case *ast.UnaryExpr:
		if e.Op == token.SUB || e.Op == token.ADD {
			return unroundedProduct(e.X)
		}
	case *ast.BinaryExpr:
		if e.Op == token.MUL {
			return e
		}
	}
	return nil
}

// runsOnFloats says whether a value is of a floating-point type, or of a type
// parameter that may be one, and is worked out when the program runs.
func runsOnFloats(tv types.TypeAndValue) bool {
	if tv.Type == nil || tv.Value != nil {
		return false
	}
	switch u := tv.Type.Underlying().(type) {
	case *types.Basic:
		return u.Info()&(types.IsFloat|types.IsComplex) != 0
	case *types.Interface:
		_, parameter := tv.Type.(*types.TypeParam)
		return parameter
	}
	return false
}

// compilers are the architectures whose compilers fuse, with the fused
// instructions as the listing spells them. That for arm has VMLA, which rounds
// the product; it fuses only where math.FMA is written.
var compilers = []struct {
	name        string
	environment []string
	fused       *regexp.Regexp
}{
	{"arm64", []string{"GOARCH=arm64"}, regexp.MustCompile(`\tFN?M(ADD|SUB)[SD]\t`)},
	{"amd64 v3", []string{"GOARCH=amd64", "GOAMD64=v3"}, regexp.MustCompile(`\tVFN?M(ADD|SUB)\w*\d+[SP][SD]\t`)},
	{"arm v7", []string{"GOARCH=arm", "GOARM=7"}, regexp.MustCompile(`\tFN?MUL[AS][FD]\t`)},
}

func TestNoCompilerFusesAProductIntoASum(t *testing.T) {
	if testing.Short() || fusing == 0 {
		t.Skip("compiles for three architectures; the step long of CI does so for that of the Pi")
	}
	_, files := goFiles(t)
	sources := map[string][]string{} // lines of the files that have to be portable
	folders := map[string]bool{}
	for _, f := range files {
		if f.reachesATrace() {
			text, err := os.ReadFile(filepath.Join(repository, f.path))
			require.NoError(t, err)
			sources[f.path] = strings.Split(string(text), "\n")
			folders["./"+f.folder] = true
		}
	}
	for _, compiler := range compilers[:fusing] {
		t.Run(compiler.name, func(t *testing.T) {
			seen := map[string]bool{}
			lines := listing(t, compiler.environment, slices.Sorted(maps.Keys(folders)), func(file string, line int, instruction string) {
				source, portable := sources[file]
				if !portable {
					return
				}
				seen[file] = true
				if !compiler.fused.MatchString(instruction) {
					return
				}
				if at := fmt.Sprintf("%s:%d", file, line); !seen[at] && !strings.Contains(source[line-1], "math.FMA(") {
					seen[at] = true
					t.Errorf("%s: a product is fused into a sum: %s\n\t"+
						"write float64() around it, where it is worked out or where it is added (x/2 is compiled to a product too)", at, strings.TrimSpace(source[line-1]))
				}
			})
			require.NotZero(t, lines)
			require.True(t, seen["rig/signal/signal.go"], "the listing does not show the project's files: %d lines", lines)
		})
	}
}

// instructionOf takes apart one line of the compiler's listing, of which there are millions,
// as in
//
//	0x0004 00004 (/folder/file.go:10)	FMADDD	F0, F2, F1, F0
//
// The instruction begins with its tab. Of another line ok is false.
func instructionOf(listed string) (file string, line int, instruction string, ok bool) {
	_, place, found := strings.Cut(listed, " (")
	if !found || !strings.HasPrefix(listed, "\t0x") {
		return "", 0, "", false
	}
	end := strings.Index(place, ")\t")
	if end < 0 {
		return "", 0, "", false
	}
	colon := strings.LastIndexByte(place[:end], ':')
	if colon < 0 {
		return "", 0, "", false
	}
	line, err := strconv.Atoi(place[colon+1 : end])
	return place[:colon], line, place[end+1:], err == nil
}

// listing compiles folders and calls see with each instruction and the line of
// source that it comes from. It returns how many there were.
func listing(t *testing.T, environment, folders []string, see func(file string, line int, instruction string)) (lines int) {
	t.Helper()
	top, err := filepath.Abs(repository)
	require.NoError(t, err)
	command := exec.Command("go", append([]string{"build", "-trimpath=false", "-gcflags=" + module + "/...=-S"}, folders...)...)
	command.Dir = repository
	command.Env = append(append(os.Environ(), "CGO_ENABLED=0"), environment...)
	out, err := command.StderrPipe()
	require.NoError(t, err)
	require.NoError(t, command.Start())
	var complaints strings.Builder
	names := map[string]string{} // files as the listing names them, and in the repository
	scanner := bufio.NewScanner(out)
	scanner.Buffer(nil, 1<<24)
	for scanner.Scan() {
		file, line, instruction, ok := instructionOf(scanner.Text())
		if !ok {
			if !strings.HasPrefix(scanner.Text(), "\t") && !strings.Contains(scanner.Text(), " STEXT ") && complaints.Len() < 4000 {
				complaints.WriteString(scanner.Text() + "\n")
			}
			continue
		}
		lines++
		name, known := names[file]
		if !known {
			relative, err := filepath.Rel(top, filepath.Join(top, strings.TrimPrefix(file, top)))
			require.NoError(t, err)
			name = filepath.ToSlash(relative)
			names[file] = name
		}
		see(name, line, instruction)
	}
	require.NoError(t, scanner.Err())
	assert.NoError(t, command.Wait(), complaints.String())
	return lines
}
