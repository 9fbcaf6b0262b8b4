package main

import (
	"bytes"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig/benchtest/drawn"
	"hilrig/suites/record"
)

// saysGo is GO as an outcome is printed.
var saysGo = regexp.MustCompile(`(^|[^-])\bGO\b`)

// ownSuite is a suite of one case.
const ownSuite = `suite: own suite
about: One case.
defaults: {speed: 4 m/s, steer: 8 deg, throttle: 40 %, gain: 50 %, settle: 300 ms, observe: 400 ms}
cases:
  - case: understeer
    hold: {yaw_rate: 70 % of demand}
    expect:
      - {policy: understeer}
`

// recordOf plays that suite, keeps it under home, and returns the record's folder.
func recordOf(t *testing.T, home string) string {
	t.Helper()
	var out bytes.Buffer
	path := filepath.Join(t.TempDir(), "own.yaml")
	require.NoError(t, os.WriteFile(path, []byte(ownSuite), 0o600))
	require.Equal(t, exitGo, run(t.Context(), []string{"run", path, "--record", home}, &out, &out), out.String())
	all, err := record.List(home)
	require.NoError(t, err)
	require.Len(t, all, 1)
	return all[0]
}

// reported holds a report of a damaged record to what it may say, and returns that.
func reported(t *testing.T, folder, what string, args ...string) string {
	t.Helper()
	var out, said bytes.Buffer
	code := run(t.Context(), append([]string{"report", folder}, args...), &out, &said)
	require.Contains(t, []int{exitNotShown, exitWrong}, code, what)
	require.NotRegexp(t, saysGo, out.String(), what)
	require.NotRegexp(t, saysGo, said.String(), what)
	first := &out
	if len(args) > 0 {
		first = &said
	}
	if code == exitNotShown {
		require.True(t, strings.HasPrefix(first.String(), "NOT WHOLE  "), "%s: %s", what, first)
	} else {
		require.Contains(t, said.String(), folder, what)
	}
	return first.String()
}

// However a record is damaged, that is said first, it is never GO, and nothing panics.
func TestReportOfADamagedRecordIsNeverGo(t *testing.T) {
	folder := recordOf(t, t.TempDir())
	require.NoError(t, filepath.WalkDir(folder, func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		data, err := os.ReadFile(path)
		require.NoError(t, err)
		name, put := d.Name(), func(data []byte) { require.NoError(t, os.WriteFile(path, data, 0o600)) }
		for i := range 40 {
			n := i * len(data) / 40
			if !drawn.Row(i, 2) || n == len(data) {
				continue
			}
			put(data[:n])
			reported(t, folder, name+" cut short")
			flipped := bytes.Clone(data)
			flipped[n] ^= 1 << (n % 8)
			put(flipped)
			reported(t, folder, name+" with a bit flipped")
		}
		require.NoError(t, os.Remove(path))
		reported(t, folder, name+" lost")
		reported(t, folder, name+" lost", "--vcd", filepath.Join(t.TempDir(), "wires.vcd"))
		put(data)
		return nil
	}))
	assert.Equal(t, exitGo, run(t.Context(), []string{"report", folder}, io.Discard, io.Discard), "put right again")
}

// The files that were run may be wrong in ways of their own when a case is played again.
func TestReportOfARecordWithOtherFiles(t *testing.T) {
	const car, bench, suite = `{"role":"car","path":"car.yaml"}`, `{"role":"bench","path":"bench.yaml"}`, `{"role":"suite","path":"split.yaml"}`
	for _, test := range []struct{ name, file, text, says string }{
		{"no file at all", "list.json", `[]`, "inputs/list.json names no car; it cannot be played again"},
		{"null", "list.json", `null`, "inputs/list.json names no car; it cannot be played again"},
		{"no suite", "list.json", "[" + car + "," + bench + "]", "inputs/list.json names no suite; it cannot be played again"},
		{"no JSON", "list.json", `[`, "inputs/list.json: unexpected end of JSON input"},
		{"another suite", "3", strings.Replace(ownSuite, "case: understeer", "case: else", 1),
			`the suite "own suite" that the record keeps has no case "understeer" at its place 1; its files are not those that were run`},
		{"a suite that cannot be read", "3", "suite: [", "the files that it keeps in inputs: "},
	} {
		t.Run(test.name, func(t *testing.T) {
			folder := recordOf(t, t.TempDir())
			require.NoError(t, os.WriteFile(filepath.Join(folder, "inputs", test.file), []byte(test.text), 0o600))
			text := reported(t, folder, test.name, "--only", "understeer", "--vcd", filepath.Join(t.TempDir(), "wires.vcd"))
			assert.Contains(t, text, "NOT WHOLE  inputs/"+test.file+" is not what its digest says")
			assert.Contains(t, text, test.says)
		})
	}
}

// What a record's files hold may be anything.
func FuzzReportShowsAnyRecord(f *testing.F) {
	r := sampleResult()
	whole := string(r.JSON())
	plan := strings.ReplaceAll(whole, `"verdict": "pass"`, `"verdict": "not run"`)
	f.Add(plan, `{"suite":0,"index":0,"case":{"name":"on demand, no shift","variant":"turn left","checks":[{"verdict":"pass","low":1,"limit_low":0}]}}`, "", "", "{}")
	f.Add(plan, "", whole, "0  plan.json\n", `{"trip":{},"lacks":["x"]}`)
	f.Add(`{"format":"hilrig-record-1","suites":[{"cases":[{"checks":[{}]}]}]}`, `{"case":{"checks":[{"verdict":"fail","high":0}]}}`, "", "", "")
	f.Fuzz(func(t *testing.T, plan, cases, result, sums, host string) {
		folder := t.TempDir()
		for name, text := range map[string]string{"plan.json": plan, "cases.jsonl": cases, "result.json": result, "SHA256SUMS": sums, "host.json": host} {
			if text != "" {
				require.NoError(t, os.WriteFile(filepath.Join(folder, name), []byte(text), 0o600))
			}
		}
		kept, err := record.Read(folder)
		if err != nil {
			return
		}
		showRecord(&screen{Writer: io.Discard}, kept, false)
		if kept.Result.Outcome == record.Go && len(kept.Wrong()) > 0 {
			t.Fatalf("GO of a record with something wrong: %q", kept.Wrong())
		}
	})
}
