package standard_test

import (
	"bytes"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/suites/standard"
)

func TestEveryNameHasItsSource(t *testing.T) {
	assert.Contains(t, standard.Names(), "split")
	for _, name := range standard.Names() {
		path, data, ok := standard.Source(name)
		assert.True(t, ok)
		assert.Equal(t, "standard/"+name+".yaml", path)
		assert.True(t, bytes.HasPrefix(data, []byte("suite: ")), "%s begins with its name", path)
	}
}

func TestEverySuiteHasItsPlaceInTheOrder(t *testing.T) {
	found, err := filepath.Glob("*.yaml")
	require.NoError(t, err)
	for i := range found {
		found[i] = strings.TrimSuffix(found[i], ".yaml")
	}
	assert.ElementsMatch(t, found, append(standard.Names(), standard.Life, standard.Soak))
}

// Each suite says in one sentence why it is there.
func TestEverySuiteSaysWhy(t *testing.T) {
	for _, name := range append(standard.Names(), standard.Life, standard.Soak) {
		_, data, _ := standard.Source(name)
		second := strings.Split(string(data), "\n")[1]
		assert.Regexp(t, `^about: [A-Z].*[a-z]\.$`, second, name)
		assert.Equal(t, 1, strings.Count(second, "."), name)
	}
}

func TestUnknownNamesHaveNone(t *testing.T) {
	for _, name := range []string{"", "spilt", "../demo/bramble", "split.yaml"} {
		_, _, ok := standard.Source(name)
		assert.False(t, ok, name)
	}
}
