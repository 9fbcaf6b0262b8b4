package search

import (
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig/benchtest/drawn"
	"hilrig/suites"
	"hilrig/suites/parts"
)

// asPart searches on one of several machines, and returns where it wrote its part.
func asPart(t *testing.T, board string, k, n int, o Options) string {
	t.Helper()
	o.Split = parts.Split{Shard: parts.Shard{Number: k, Of: n}, Program: "test"}
	return partFile(t, fmt.Sprintf("%d_of_%d.json", k, n), searched(t, board, 1, o))
}

func partFile(t *testing.T, name string, r *Result) string {
	data, err := json.MarshalIndent(r, "", "  ")
	require.NoError(t, err)
	path := filepath.Join(t.TempDir(), name)
	require.NoError(t, os.WriteFile(path, data, 0o600))
	return path
}

// Parts that are joined are what one machine comes to, byte for byte: of a healthy board, and of one with which a machine that
// has seen enough ends before a part does that has not.
func TestPartsThatAreJoinedAreWhatOneMachineComesTo(t *testing.T) {
	for i, row := range []struct {
		board   string
		parts   int
		options Options
	}{
		{"null:silent", 2, Options{Drives: 16, Tries: 1}},
		{"built-in", 3, Options{Drives: 16}},
		{"built-in:drives_at_once", 2, Options{Drives: 96, Tries: 8, Most: 1}},
		{"built-in:yaw_sign", 3, Options{Drives: 32, Tries: 1, Most: 3}},
	} {
		if !testing.Short() && !drawn.Row(i, 2) {
			continue
		}
		if testing.Short() && row.board != "null:silent" {
			continue
		}
		one := searched(t, row.board, 1, row.options)
		var paths []string
		for k := row.parts; k > 0; k-- {
			paths = append(paths, asPart(t, row.board, k, row.parts, row.options))
		}
		whole, err := Join(paths, os.ReadFile)
		require.NoError(t, err)
		want, _ := json.Marshal(one)
		got, _ := json.Marshal(whole)
		assert.Equal(t, string(want), string(got), row.board)
		assert.Positive(t, one.Drives)
	}
}

// A check that two parts have seen counts as the first, and what a part saw after the end does not count.
func TestWhatIsJoinedEndsWhereOneMachineEnds(t *testing.T) {
	part := func(number int, found ...Finding) *Result {
		r := &Result{Seed: 1, Part: &Part{Head: parts.Head{Number: number, Of: 2}, Most: 2}, Found: found}
		for n := range 5 {
			r.add(Round{Drives: 8, Judged: 7, Reached: n, Forgotten: number})
		}
		return r
	}
	whole := joined([]*Result{
		part(1, Finding{Check: "cap", Drive: 3}, Finding{Check: "floor", Drive: 60, Round: 3}),
		part(2, Finding{Check: "cap", Drive: 9}, Finding{Check: "sum", Drive: 40, Round: 2}),
	})
	assert.Equal(t, []Finding{{Check: "cap", Drive: 3}, {Check: "sum", Drive: 40, Round: 2}}, whole.Found)
	assert.Equal(t, Round{Drives: 48, Judged: 42, Reached: 6, Forgotten: 9}, whole.Round)
	assert.Equal(t, Found, whole.Outcome)
}

func TestPartsThatDoNotFitAreRefused(t *testing.T) {
	one, two := asPart(t, "null:silent", 1, 2, Options{Drives: 16, Tries: 1}), asPart(t, "null:silent", 2, 2, Options{Drives: 16, Tries: 1})
	data, err := os.ReadFile(one)
	require.NoError(t, err)
	changed := func(name, old, with string) string {
		path := filepath.Join(t.TempDir(), name)
		require.Contains(t, string(data), old)
		require.NoError(t, os.WriteFile(path, []byte(strings.Replace(string(data), old, with, 1)), 0o600))
		return path
	}
	for _, row := range []struct {
		name  string
		paths []string
		want  string
	}{
		{"none", nil, "name the files of the parts"},
		{"of another seed", []string{one, asPart(t, "null:silent", 2, 2, Options{Drives: 32, Tries: 1})}, "are parts of different work"},
		{"changed", []string{changed("a", `"drives": `, `"drives": 1`), two}, "is not what its digest says"},
		{"the whole", []string{partFile(t, "whole.json", searched(t, "null:silent", 1, Options{Drives: 16, Tries: 1}))}, "no part but the whole"},
	} {
		_, err := Join(row.paths, os.ReadFile)
		assert.ErrorContains(t, err, row.want, row.name)
	}
	setup, err := suites.Load(filesFor("built-in", 1))
	require.NoError(t, err)
	_, err = Run(t.Context(), setup, Options{Split: parts.Split{Shard: parts.Shard{Number: 9, Of: 9}}})
	assert.ErrorContains(t, err, "at most 8 parts")
}
