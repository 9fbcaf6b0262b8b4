package main_test

import (
	"go/ast"
	"go/token"
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"

	"hilrig/assertions"
	"hilrig/suites/record"
)

// A second list of verdicts would miss the next word, or order them another way.
func TestTheWordsOfVerdictsAreWrittenInOnePlace(t *testing.T) {
	written := map[string]string{
		string(assertions.Pass): "assertions/verdict.go", string(assertions.Fail): "assertions/verdict.go",
		string(assertions.Undecided): "assertions/verdict.go", string(assertions.NotAsked): "assertions/verdict.go",
		string(assertions.MeasuredOnly): "assertions/verdict.go",
		record.NotRun:                   "suites/record/seal.go", record.Skipped: "suites/record/seal.go",
	}
	set, files := goFiles(t)
	found := map[string]bool{}
	for _, f := range files {
		if f.test {
			continue
		}
		ast.Inspect(f.syntax, func(n ast.Node) bool {
			lit, ok := n.(*ast.BasicLit)
			if !ok || lit.Kind != token.STRING {
				return true
			}
			word, err := strconv.Unquote(lit.Value)
			if place := written[word]; err == nil && place != "" {
				assert.Equal(t, place, f.path, "%s: write the constant for %q", position(set, lit.Pos()), word)
				found[word] = true
			}
			return true
		})
	}
	assert.Len(t, found, len(written), "every verdict is written where this test says")
}
