package file_test

import (
	"maps"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/assertions"
	"hilrig/suites/file"
	"hilrig/suites/language"
)

func TestTheLanguagePageIsThatOfTheKeys(t *testing.T) {
	golden(t, "LANGUAGE.md", file.LanguagePage())
}

// Each situation of a policy has its row, in which nothing is left open: what a step needs is written of each, and a
// standard suite asks each of some car.
func TestEachSituationIsOnThePage(t *testing.T) {
	assert.ElementsMatch(t, assertions.Situations, slices.Collect(maps.Keys(file.StepNeeds)))
	text := string(file.LanguagePage())
	for _, of := range assertions.Situations {
		assert.Regexp(t, "(?m)^\\| `"+of+"` \\|( [^|]+ \\|){5}$", text)
	}
}

// No cell of a table is empty: where a key may be left out, what holds then is said.
func TestNoColumnOfThePageIsEmpty(t *testing.T) {
	for line := range strings.Lines(string(file.LanguagePage())) {
		assert.NotRegexp(t, `^\|.*\|\s*\|`, strings.TrimSpace(line))
	}
	for _, o := range file.Unused() {
		t.Errorf("nothing is left out any more of which is said that %q holds", o)
	}
}

func TestTheSuiteOnThePageIsRight(t *testing.T) {
	text := string(file.LanguagePage())
	_, rest, found := strings.Cut(text, "\n```yaml\n")
	require.True(t, found)
	data, _, _ := strings.Cut(rest, "```")
	car, bench := bramble(t)
	s, err := file.ParseSuite(language.Source{Path: "page.yaml", Data: []byte(data)}, car, bench)
	require.NoError(t, err)
	assert.Len(t, s.Cases, 9)
	assert.Empty(t, file.Lint(s, car, bench))
	c := newChecker(t, "suite")
	assert.Empty(t, c.check(value(t, []byte(data)), c.top, "page"))
}

func TestEveryLinkOfThePageLeadsSomewhere(t *testing.T) {
	text := string(file.LanguagePage())
	links := regexp.MustCompile(`\]\(#([^)]*)\)`).FindAllStringSubmatch(text, -1)
	assert.Greater(t, len(links), 50)
	for _, link := range links {
		assert.Contains(t, text, `<a id="`+link[1]+`"></a>`)
	}
}
