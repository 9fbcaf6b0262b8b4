package file

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/suites/language"
)

func TestFilesAreKnownByTheirFirstKey(t *testing.T) {
	for _, test := range []struct {
		name, data, kind, problem string
	}{
		{"car", "car: x\n", "car", ""},
		{"behind comments", "\n# a car\n\n  # it is\nbench: x\n", "bench", ""},
		{"behind marks", "%YAML 1.2\n---\nsuite: x\n", "suite", ""},
		{"byte order mark", "\uFEFFcar: x\n", "car", ""},
		{"line ends of two letters", "# x\r\ncar: x\r\n", "car", ""},
		{"quoted", `"car" : x`, "car", ""},
		{"in braces", `{suite: x, cases: []}`, "suite", ""},
		{"no value", "car:", "car", ""},
		{"other key", "# x\nmass: 1 kg\ncar: x\n", "", `f:2:1: the file begins with "mass: 1 kg"`},
		{"longer key", "carx: x\n", "", `f:1:1: the file begins with "carx: x"`},
		{"long line", strings.Repeat("x", 10_000), "", `f:1:1: the file begins with "` + strings.Repeat("x", 40) + `"`},
		{"empty", "", "", "f:1:1: the file is empty"},
		{"comments alone", "# x\n#y", "", "f:1:1: the file is empty"},
		{"binary", "\x7fELF\x00", "", "f:1:1: byte 0x7f is not text; write the file as plain text in UTF-8"},
	} {
		t.Run(test.name, func(t *testing.T) {
			var l Linted
			assert.Equal(t, test.kind, l.kind(language.Source{Path: "f", Data: []byte(test.data)}))
			if test.problem == "" {
				assert.Empty(t, l.Problems)
				return
			}
			require.Len(t, l.Problems, 1)
			want := test.problem
			if !strings.Contains(want, "; ") {
				want += "; begin it with car: NAME, bench: NAME, suite: NAME, setup: NAME, stand: NAME or faults: NAME, which says what it is"
			}
			assert.Equal(t, want, l.Problems[0].Error())
		})
	}
}
