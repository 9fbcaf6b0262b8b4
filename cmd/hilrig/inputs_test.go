package main

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
	for _, names := range [][]string{{"split"}, {"own.yaml"}, nil} {
		data, err := logReader(os.ReadFile, names)(demo.LogPath)
		require.NoError(t, err)
		assert.Equal(t, demo.LogCSV, data, "%v", names)
	}
	require.NoError(t, os.MkdirAll(filepath.Dir(demo.LogPath), 0o700))
	require.NoError(t, os.WriteFile(demo.LogPath, []byte("own"), 0o600))
	require.NoError(t, os.WriteFile("other.csv", []byte("other"), 0o600))
	for _, test := range []struct {
		name, path, want string
		names            []string
	}{
		{"standard suite", demo.LogPath, string(demo.LogCSV), []string{"split"}},
		{"own suite", demo.LogPath, "own", []string{"own.yaml"}},
		{"both", demo.LogPath, "own", []string{"split", "own.yaml"}},
		{"another log", "other.csv", "other", []string{"split"}},
	} {
		t.Run(test.name, func(t *testing.T) {
			data, err := logReader(os.ReadFile, test.names)(test.path)
			require.NoError(t, err)
			assert.Equal(t, test.want, string(data))
		})
	}
	_, err := logReader(os.ReadFile, nil)("no.csv")
	assert.ErrorIs(t, err, os.ErrNotExist)
}
