package standard_test

import (
	"bytes"
	"testing"

	"github.com/stretchr/testify/assert"

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

func TestUnknownNamesHaveNone(t *testing.T) {
	for _, name := range []string{"", "spilt", "../demo/bramble", "split.yaml"} {
		_, _, ok := standard.Source(name)
		assert.False(t, ok, name)
	}
}
