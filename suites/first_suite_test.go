package suites

import (
	"fmt"
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/suites/demo"
	"hilrig/suites/file"
	"hilrig/suites/language"
	"hilrig/suites/record"
)

// Each suite of the guide to a first one lints without a word, and the demo's board passes all that it expects.
func TestEachStepOfAFirstSuiteIsRight(t *testing.T) {
	data, err := os.ReadFile("file/testdata/page/first.yaml")
	require.NoError(t, err)
	for i, text := range strings.Split(string(data), "---\n") {
		t.Run(fmt.Sprint(i+1), func(t *testing.T) {
			source := language.Source{Path: "first.yaml", Data: []byte(text)}
			own := demo.Of("built-in")
			setup, err := Load(Files{Car: language.Source{Path: own.CarPath, Data: own.Car}, Bench: language.Source{Path: own.BenchPath, Data: own.Bench},
				Board: "built-in", Seed: 1, Suites: []language.Source{source}})
			require.NoError(t, err)
			assert.Empty(t, file.Lint(setup.Suites[0], setup.Car, setup.Bench))
			assert.Empty(t, file.Unasked(setup.Suites[0], setup.Car, setup.Bench))
			r, _, err := setup.Run(t.Context(), Options{})
			require.NoError(t, err)
			assert.Equal(t, record.Go, r.Outcome)
			assert.Zero(t, r.Counts.NotAsked+r.Counts.Undecided)
		})
	}
}
