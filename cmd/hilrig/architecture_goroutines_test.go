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
// nothing there, and .ci/run leaves them out of its race step, but for tests that are
// named after concurrentUse.
var alone = []string{
	"assertions", "cmd/hilrig/usage", "plant", "stimulus",
	"rig/benchtest", "rig/board", "rig/decode", "rig/interlock", "rig/raspberry/cdev", "rig/raspberry/claim", "rig/raspberry/pinout", "rig/raspberry/timing", "rig/signal", "rig/simulated", "rig/trace",
	"suites/demo", "suites/file", "suites/language", "suites/parts", "suites/report/compare", "suites/report/page", "suites/schematest", "suites/setup", "suites/standard",
}

// concurrentUse is in the name of each test of those folders that calls what is safe for
// concurrent use from several goroutines.
const concurrentUse = "SafeForConcurrentUse"

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

// A folder of those that promises to be safe for concurrent use has a test of it, and the
// race step runs it.
func TestTheRaceStepRunsWhatIsSafeForConcurrentUse(t *testing.T) {
	script, err := os.ReadFile("../../.ci/run")
	require.NoError(t, err)
	_, files := goFiles(t)
	promised, tested := map[string]bool{}, map[string]bool{}
	for _, f := range files {
		if !under(f.folder, alone...) {
			continue
		}
		for _, d := range f.syntax.Decls {
			if fn, ok := d.(*ast.FuncDecl); ok {
				promised[f.folder] = promised[f.folder] || !f.test && strings.Contains(fn.Doc.Text(), "safe for concurrent use")
				tested[f.folder] = tested[f.folder] || f.test && strings.Contains(fn.Name.Name, concurrentUse)
			}
		}
	}
	assert.True(t, promised["assertions"], "Judge says so")
	for folder, is := range promised {
		if is {
			assert.True(t, tested[folder], "%s promises it; write a test named after %s", folder, concurrentUse)
			assert.Regexp(t, `(?m)^\s.*go test -race -short -run '`+concurrentUse+`' (\S+ )*\./`+folder+`( |$)`, string(script))
		}
	}
}
