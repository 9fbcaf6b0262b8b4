package file_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"hilrig/suites/demo"
	"hilrig/suites/file"
	"hilrig/suites/language"
	"hilrig/suites/standard"
)

func bramble(t testing.TB) (*file.Car, *file.Bench) {
	t.Helper()
	car, err := file.ParseCar(language.Source{Path: demo.CarPath, Data: demo.CarYAML})
	require.NoError(t, err)
	bench, err := file.ParseBench(language.Source{Path: demo.BenchPath, Data: demo.BenchYAML})
	require.NoError(t, err)
	return car, bench
}

func TestStandardSuitesParse(t *testing.T) {
	car, bench := bramble(t)
	for _, name := range standard.Names() {
		t.Run(name, func(t *testing.T) {
			path, data, ok := standard.Source(name)
			require.True(t, ok)
			s, err := file.ParseSuiteWith(language.Source{Path: path, Data: data}, file.SuiteOptions{Car: car, Bench: bench, Read: func(path string) ([]byte, error) {
				require.Equal(t, demo.LogPath, path)
				return demo.LogCSV, nil
			}})
			require.NoError(t, err)
			require.NotEmpty(t, s.Cases)
		})
	}
}
