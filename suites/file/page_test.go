package file_test

import (
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/suites/file"
	"hilrig/suites/language"
)

func TestTheLanguagePageIsThatOfTheKeys(t *testing.T) {
	golden(t, "LANGUAGE.md", file.LanguagePage())
}

func TestTheSuiteOnThePageIsRight(t *testing.T) {
	text := string(file.LanguagePage())
	_, rest, found := strings.Cut(text, "```yaml\n")
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
