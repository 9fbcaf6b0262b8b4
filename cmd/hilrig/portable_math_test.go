package main_test

import (
	"go/ast"
	"go/token"
	"regexp"
	"testing"

	"github.com/stretchr/testify/assert"
)

// onTheWayToATrace are the folders whose numbers reach a trace: what a case
// plays, the car, the wires, the boards and the loop. A run gives the same
// bits on every architecture only if all of it does.
var onTheWayToATrace = []string{"plant", "stimulus", "rig", "suites/file", "suites/demo", "suites/standard"}

// policyFile holds the demand, from which "70 % of demand" is worked out.
const policyFile = "assertions/law/policy.go"

// reachesATrace says whether a file's arithmetic has to be portable.
func (f goFile) reachesATrace() bool {
	return !f.test && (under(f.folder, onTheWayToATrace...) || f.folder == "suites" || f.path == policyFile)
}

// sameBits are the functions of math whose result is exact or rounded once, so
// that assembly and plain Go agree. All others (Sin, Exp, Pow, Hypot, ...)
// differ between architectures in 1 to 16 % of their inputs.
var sameBits = regexp.MustCompile(`^(Sqrt|Floor|Ceil|Trunc|Round|RoundToEven|Abs|Mod|Remainder|Copysign|Signbit|FMA|` +
	`Max|Min|Dim|Modf|Frexp|Ldexp|Nextafter|Nextafter32|Inf|IsInf|NaN|IsNaN|Float(32|64)(bits|frombits)|` +
	`Pi|E|Phi|Sqrt2|SqrtE|SqrtPi|SqrtPhi|Ln2|Ln10|Log2E|Log10E|(Max|Min)U?[Ii]nt(8|16|32|64)?|(Max|SmallestNonzero)Float(32|64))$`)

// sameDraws are the generators of math/rand/v2 whose 64-bit output is laid
// down. What draws from them branches on the size of int, or calls Log and Exp.
var sameDraws = regexp.MustCompile(`^(PCG|NewPCG|ChaCha8|NewChaCha8|Source)$`)

func TestNothingOnTheWayToATraceDiffersByArchitecture(t *testing.T) {
	set, files := goFiles(t)
	for _, f := range files {
		if !f.reachesATrace() {
			continue
		}
		uses(t, set, f, "math", func(at, name string) {
			if !sameBits.MatchString(name) {
				t.Errorf("%s: math.%s gives other bits on other architectures; use plant/portable", at, name)
			}
		})
		uses(t, set, f, "math/rand/v2", func(at, name string) {
			if !sameDraws.MatchString(name) {
				t.Errorf("%s: rand.%s may draw differently on 32 bits; draw from a PCG's Uint64", at, name)
			}
		})
		uses(t, set, f, "math/rand", func(at, name string) {
			t.Errorf("%s: rand.%s: math/rand may change between Go releases; draw from plant/portable", at, name)
		})
	}
}

// uses calls see with every name that a file takes from a package.
func uses(t *testing.T, set *token.FileSet, f goFile, importPath string, see func(at, name string)) {
	known := f.importedAs(importPath)
	if !assert.NotContains(t, []string{".", "_"}, known, "%s: import %s under its own name", f.path, importPath) || known == "" {
		return
	}
	ast.Inspect(f.syntax, func(n ast.Node) bool {
		if selector, ok := n.(*ast.SelectorExpr); ok {
			if from, ok := selector.X.(*ast.Ident); ok && from.Name == known {
				see(position(set, selector.Pos()), selector.Sel.Name)
			}
		}
		return true
	})
}
