package file_test

import (
	"os"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/suites/file"
	"hilrig/suites/language"
)

// The policies that the guide shows are right, and have the ten lines that it promises.
func TestThePoliciesOfTheGuideAreRight(t *testing.T) {
	guide, err := os.ReadFile("../README.md")
	require.NoError(t, err)
	policies := regexp.MustCompile("(?s)```yaml\n(policy:\n.*?)```").FindAllStringSubmatch(string(guide), -1)
	require.Len(t, policies, 3)
	for _, p := range policies {
		_, err := file.ParseCar(language.Source{Path: "README.md", Data: []byte(bareCar + p[1])})
		assert.NoError(t, err, p[1])
		assert.Equal(t, 11, strings.Count(p[1], "\n"), "policy: and ten lines")
	}
	page, err := os.ReadFile("LANGUAGE.md")
	require.NoError(t, err)
	for _, word := range regexp.MustCompile("`([a-z_]+)`").FindAllStringSubmatch(section(string(guide), "## Your policy in ten lines"), -1) {
		if !strings.Contains(word[1], "hilrig") {
			assert.Contains(t, string(page), "`"+word[1]+"`")
		}
	}
}

// section returns what stands under a heading, to the next of its level.
func section(text, heading string) string {
	_, text, _ = strings.Cut(text, heading+"\n")
	text, _, _ = strings.Cut(text, "\n## ")
	return text
}
