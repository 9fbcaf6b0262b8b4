//go:build full

package suites_test

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/suites"
	"hilrig/suites/language"
	"hilrig/suites/record"
)

// TestStandardSetOnImperfectBenches plays the whole set in every format through a
// sampler with stalls, and on an edge output that is late: nothing fails.
func TestStandardSetOnImperfectBenches(t *testing.T) {
	paths, err := filepath.Glob("testdata/benches/*.yaml")
	require.NoError(t, err)
	run := func(name string, bench language.Source) {
		t.Run(name, func(t *testing.T) {
			f := bramble("")
			f.Bench = bench
			r, _ := play(t, load(t, f), suites.Options{})
			assert.NotEqual(t, record.NoGo, r.Outcome)
			assert.Zero(t, r.Counts.Fail)
			uncertain, left := int64(0), 0
			for _, s := range r.Suites {
				uncertain += s.Timing.Uncertain
				left += s.Timing.LeftOut
			}
			t.Logf("%s, %d pass, %d undecided, %d commands and %d readings left out", r.Outcome, r.Counts.Pass, r.Counts.Undecided, uncertain, left)
			for _, trouble := range troubles(r) {
				t.Log(trouble)
			}
		})
	}
	for _, path := range paths {
		run(filepath.Base(path), benchWith(t, path, sampledBench))
	}
	run("late edge output", imperfect(lateBench, "").Bench)
	run("late edge output and sampler", imperfect(lateBench+sampledBench, "").Bench)
}

// benchWith returns a bench of testdata with further lines.
func benchWith(t testing.TB, path, lines string) language.Source {
	data, err := os.ReadFile(path)
	require.NoError(t, err)
	return language.Source{Path: path, Data: []byte(strings.TrimRight(string(data), "\n") + "\n" + lines)}
}
