package file_test

import (
	"regexp"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"hilrig/suites/demo"
	"hilrig/suites/language"
	"hilrig/suites/standard"
)

// written finds the values of a file that are no keys: what stands behind a
// colon or a bracket, up to a comma, bracket, comment or line end.
var written = regexp.MustCompile(`(?m)(?:: |\[|, |- )([^\s\[\]{},:#][^\[\]{},:#\n]*?) *(?:,|]|}|#|$)`)

// Wherever a value is replaced by one that is wrong, a problem stands at that very
// place.
func TestProblemsStandWhereTheMistakeIs(t *testing.T) {
	_, split, ok := standard.Source("split")
	require.True(t, ok)
	files := []string{string(demo.CarYAML), string(demo.BenchYAML), string(split)}
	comment := regexp.MustCompile(`(?m) *#.*$`)
	for i := range files {
		files[i] = strings.TrimLeft(comment.ReplaceAllString(files[i], ""), "\n")
	}
	rapid.Check(t, func(r *rapid.T) {
		text := rapid.SampledFrom(files).Draw(r, "file")
		values := written.FindAllStringSubmatchIndex(text, -1)
		at := rapid.SampledFrom(values).Draw(r, "value")
		from, to := at[2], at[3]
		line := 1 + strings.Count(text[:from], "\n")
		begin := strings.LastIndexByte(text[:from], '\n') + 1
		key := strings.TrimSpace(text[begin:from])
		switch first, _, _ := strings.Cut(strings.TrimPrefix(key, "- "), ":"); first {
		case "car", "bench", "suite", "case", "about", "port": // any text is right
			r.Skip()
		}
		if strings.HasSuffix(key, "step:") || strings.HasSuffix(key, "of:") || strings.Contains(key, "mirrored") {
			r.Skip() // the same
		}
		bad := text[:from] + `"wröng"` + text[to:]
		problems, ok := parse(t, language.Source{Path: "f.yaml", Data: []byte(bad)}).(language.Problems)
		if !ok {
			r.Fatalf("%q at line %d is taken for right", text[from:to], line)
		}
		column := 1 + utf8.RuneCountInString(text[begin:from])
		found := false
		for _, p := range problems {
			found = found || p.Line == line && p.Column == column && p.Value == "wröng"
		}
		assert.True(r, found, "no problem at %d:%d for %q; problems:\n%v", line, column, text[from:to], problems)
	})
}
