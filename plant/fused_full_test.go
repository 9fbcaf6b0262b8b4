//go:build full

package plant

import (
	"os"
	"os/exec"
	"regexp"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// TestNothingFused compiles the model and the functions for an architecture where
// the compiler multiplies and adds in one operation wherever it may, and requires that
// it never may, except in the reduction of large angles, which asks for it. A product
// that is doubled counts as added: the compiler turns 2*x into x+x.
func TestNothingFused(t *testing.T) {
	c := exec.Command("go", "build", "-gcflags=-S", "hilrig/plant", "hilrig/plant/portable")
	c.Env = append(os.Environ(), "GOOS=linux", "GOARCH=arm64")
	listing, err := c.CombinedOutput()
	require.NoError(t, err, "%s", listing)
	require.Regexp(t, `FMULD`, string(listing), "no listing")
	fused := regexp.MustCompile(`\(\S*?([a-z_]+\.go:\d+)\)\s+FN?M(ADD|SUB)D`).FindAllSubmatch(listing, -1)
	require.NotEmpty(t, fused, "the one that is asked for")
	for _, f := range fused {
		assert.Regexp(t, `^reduce\.go:`, string(f[1]), "fused")
	}
}
