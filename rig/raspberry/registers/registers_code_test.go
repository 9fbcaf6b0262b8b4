package registers

import (
	"bytes"
	"os"
	"os/exec"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// What memory cannot show, as it keeps no count of accesses, the compiler's listing for
// the Pi does: each access is one instruction, all that are written are there, and
// none is added to see whether a pointer is nil.
func TestCompilerKeepsEachRegisterAccess(t *testing.T) {
	if testing.Short() {
		t.Skip("compiles for another architecture")
	}
	if _, err := exec.LookPath("go"); err != nil && os.Getenv("CI") == "" {
		t.Skip("the go command is missing")
	}
	command := exec.Command("go", "build", "-gcflags=-S", "-asmflags=-S", ".")
	command.Env = append(os.Environ(), "GOOS=linux", "GOARCH=arm64", "CGO_ENABLED=0")
	listing, err := command.CombinedOutput()
	require.NoError(t, err, "%s", listing)
	code := methods(listing)
	for method, want := range map[string]string{
		"Set":   "MOVD STLRW RET",
		"Clear": "MOVD STLRW RET",
		"Level": "MOVD LDARW RET",
	} {
		assert.Equal(t, want, strings.Join(code[method], " "), method)
	}
	assert.Equal(t, "ISB MRS MOVD RET", strings.Join(code["count"], " "), "the counter is not read ahead of its turn")
	accesses := map[string]int{}
	for _, mnemonic := range code["strobePull"] {
		accesses[mnemonic]++
	}
	assert.Equal(t, 4, accesses["STLRW"], "two registers are written twice each")
}

var (
	symbol      = regexp.MustCompile(`^hilrig/rig/raspberry/registers\.(?:\(\*Registers\)\.(\w+) STEXT |(count) STEXT nosplit asm )`)
	instruction = regexp.MustCompile(`^\t0x[0-9a-f]+ \d+ \(.*\)\t([A-Z][A-Z0-9.]*)`)
)

// methods returns the mnemonics of each method of Registers, and of count, in order.
func methods(listing []byte) map[string][]string {
	code := map[string][]string{}
	method := ""
	for line := range bytes.Lines(listing) {
		if bytes.Contains(line, []byte(" STEXT ")) {
			method = ""
			if found := symbol.FindSubmatch(line); found != nil {
				method = string(found[1]) + string(found[2])
			}
		}
		found := instruction.FindSubmatch(line)
		if found == nil || method == "" {
			continue
		}
		switch mnemonic := string(found[1]); mnemonic {
		case "TEXT", "FUNCDATA", "PCDATA": // no instructions
		default:
			code[method] = append(code[method], mnemonic)
		}
	}
	return code
}
