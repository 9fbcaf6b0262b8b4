package main_test

import (
	"go/ast"
	"os"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Folders whose code runs on its caller's goroutine alone: a race detector finds
// nothing there, and .ci/run leaves them out of its race step.
var alone = []string{"assertions", "plant", "stimulus"}

func TestNumericsStartNoGoroutines(t *testing.T) {
	set, files := goFiles(t)
	for _, f := range files {
		if f.test || !under(f.folder, alone...) {
			continue
		}
		ast.Inspect(f.syntax, func(n ast.Node) bool {
			switch n := n.(type) {
			case *ast.GoStmt, *ast.SendStmt, *ast.SelectStmt, *ast.ChanType:
				assert.Fail(t, "a goroutine or channel", "%s: take the folder into the race step of .ci/run", position(set, n.Pos()))
			case *ast.ImportSpec:
				path := strings.Trim(n.Path.Value, "`\"")
				assert.False(t, path == "sync" || path == "sync/atomic", "%s: take the folder into the race step of .ci/run", position(set, n.Pos()))
			}
			return true
		})
	}
}

func TestTheRaceStepLeavesOutOnlyThose(t *testing.T) {
	script, err := os.ReadFile("../../.ci/run")
	require.NoError(t, err)
	found := regexp.MustCompile(`(?m)^alone='([^']*)'`).FindSubmatch(script)
	require.NotNil(t, found, ".ci/run names the folders that its race step leaves out as alone='...'")
	assert.Equal(t, strings.Join(alone, "|"), string(found[1]))
}
