package demo_test

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/suites/demo"
)

// A file where the demo's log would be is read for those who have suites of
// their own, and never for the standard suites.
func TestEachSuiteGetsTheLogThatItMeans(t *testing.T) {
	t.Chdir(t.TempDir())
	for _, own := range []bool{false, true} {
		data, err := demo.LogReader(os.ReadFile, own)(demo.LogPath)
		require.NoError(t, err)
		assert.Equal(t, demo.LogCSV, data)
	}
	require.NoError(t, os.MkdirAll(filepath.Dir(demo.LogPath), 0o700))
	require.NoError(t, os.WriteFile(demo.LogPath, []byte("own"), 0o600))
	require.NoError(t, os.WriteFile("other.csv", []byte("other"), 0o600))
	for _, test := range []struct {
		name, path, want string
		own              bool
	}{
		{"standard suite", demo.LogPath, string(demo.LogCSV), false},
		{"own suite", demo.LogPath, "own", true},
		{"another log", "other.csv", "other", false},
	} {
		t.Run(test.name, func(t *testing.T) {
			data, err := demo.LogReader(os.ReadFile, test.own)(test.path)
			require.NoError(t, err)
			assert.Equal(t, test.want, string(data))
		})
	}
	_, err := demo.LogReader(os.ReadFile, true)("no.csv")
	assert.ErrorIs(t, err, os.ErrNotExist)
}
