package report

import (
	"bytes"
	"encoding/xml"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"
	"unicode"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/suites/record"
)

// hostile are texts that mean something to a page, a terminal, a spreadsheet, a path or the
// direction of letters.
var hostile = []string{
	`<script>alert(1)</script>&"']]>`, "\x1b[2J\x1b]0;title\a", "=HYPERLINK(\"http://example.com\")", "+1+1", "@SUM(A1)",
	"../../../etc/passwd", "\u202egnp.exe", "a\x00b\ufffe", "ok 1 - not so # SKIP", "\\", "  \t ", "Ω π", "not ok\n1..0\nBail out!",
}

// exported is a record with every kind of verdict, whose names are hostile, with commands along its
// first case.
func exported(t *testing.T) *record.Record {
	t.Helper()
	number := record.Number
	r := &record.Result{
		Seed: 1, Car: record.Source{Name: hostile[0]}, Bench: record.Source{Name: "bench"}, Board: record.Source{Name: hostile[1]},
		Label: hostile[6], Suites: make([]record.Suite, 2),
	}
	for i := range r.Suites {
		s := &r.Suites[i]
		s.Name, s.File = hostile[5+i], "split.yaml"
		for j, verdict := range []string{record.Pass, record.Fail, record.Undecided, record.NotAsked} {
			c := record.Case{Name: "case", Line: j + 1, LengthNS: 2e9, Trace: "a"}
			for k, name := range hostile {
				x := record.Check{Name: name, Step: hostile[(k+1)%len(hostile)], Verdict: verdict, File: name, Line: 3, AtNS: 1e9}
				if verdict != record.NotAsked {
					x.Quantity, x.Unit, x.Estimate, x.Low, x.High, x.LimitLow = "shift", "%", number(-8), number(-8.1), number(-7.9), number(1)
				}
				if verdict != record.Pass {
					x.Why, x.Excerpt = hostile[(k+2)%len(hostile)], name
				}
				c.Checks = append(c.Checks, x)
			}
			s.Cases = append(s.Cases, c)
		}
		s.Cases = append(s.Cases,
			record.Case{Name: hostile[2], Variant: hostile[3], Verdict: record.Skipped, Why: hostile[4]},
			record.Case{Name: hostile[8], Verdict: record.NotRun, Why: hostile[12]})
	}
	w, err := record.Create(t.TempDir(), r, record.Host{Machine: hostile[0]}, time.Date(2026, 3, 1, 19, 4, 5, 0, time.UTC))
	require.NoError(t, err)
	a := &record.Along{BinNS: record.AlongBin, Played: map[string][]float64{"yaw_rate": {0.5, 0.25}}}
	for i := range a.Motors {
		a.Motors[i] = record.Commands{Mean: []float64{0.4, math.NaN()}, Low: []float64{0.35, math.NaN()}, High: []float64{0.45, math.NaN()}}
	}
	w.Along(0, 0, a)
	require.NoError(t, w.Finish(r, 1, 1))
	read, err := record.Read(w.Folder())
	require.NoError(t, err)
	require.Empty(t, read.Wrong())
	return read
}

// program returns the path of a program of others. Where it is missing the test is skipped by hand
// and fails where everything has to be seen.
func program(t *testing.T, name, from string) string {
	t.Helper()
	path, err := exec.LookPath(name)
	if err == nil {
		return path
	}
	if os.Getenv("CI") != "" {
		t.Fatalf("%s is missing: install the Debian package %s", name, from)
	}
	t.Skipf("%s is missing: install the Debian package %s", name, from)
	return ""
}

// tests counts the checks and cases of a record that stand for one test each.
func tests(r *record.Result) (all, bad int) {
	for i := range r.Suites {
		for j := range r.Suites[i].Cases {
			switch c := &r.Suites[i].Cases[j]; c.Verdict {
			case record.NotRun:
				all, bad = all+1, bad+1
			case record.Skipped:
				all++
			default:
				for k := range c.Checks {
					all++
					if v := c.Checks[k].Verdict; v == record.Fail || v == record.Undecided {
						bad++
					}
				}
			}
		}
	}
	return all, bad
}

// xmllint of libxml2 reads the report and holds it against the form's schema.
func TestJUnitKeepsItsForm(t *testing.T) {
	xmllint := program(t, "xmllint", "libxml2-utils")
	r := exported(t)
	for name, broken := range map[string]bool{"whole": false, "tampered": true} {
		if broken {
			r.Notes = []string{hostile[0] + hostile[1], hostile[12]}
		}
		var b bytes.Buffer
		require.NoError(t, JUnit(&b, r))
		file := filepath.Join(t.TempDir(), "junit.xml")
		require.NoError(t, os.WriteFile(file, b.Bytes(), 0o600))
		said, err := exec.Command(xmllint, "--noout", "--nonet", "--schema", "testdata/junit.xsd", file).CombinedOutput()
		require.NoError(t, err, "%s: %s", name, said)

		var read junitSuites
		require.NoError(t, xml.Unmarshal(b.Bytes(), &read))
		all, bad := tests(r.Result)
		count := [2]int{}
		for _, s := range read.Suites {
			count[0], count[1] = count[0]+s.Tests, count[1]+s.Failures+s.Errors
		}
		assert.Equal(t, [2]int{all + len(r.Notes), bad + len(r.Notes)}, count, name)
		assert.NotContains(t, b.String(), "\x1b")
		assert.NotContains(t, b.String(), "\u202e")
		assert.Contains(t, b.String(), "&lt;script&gt;")
	}
}

// prove of Perl's Test::Harness reads the stream and counts as its plan says.
func TestTAPIsReadByAHarness(t *testing.T) {
	prove := program(t, "prove", "perl")
	r := exported(t)
	all, bad := tests(r.Result)
	var b bytes.Buffer
	require.NoError(t, TAP(&b, r))
	for _, c := range b.String() {
		require.True(t, c == '\n' || unicode.IsPrint(c), "%q", c)
	}
	file := filepath.Join(t.TempDir(), "run.tap")
	require.NoError(t, os.WriteFile(file, b.Bytes(), 0o600))
	said, err := exec.Command(prove, "--source", "File", "--ext", ".tap", file).CombinedOutput()
	require.Error(t, err, "some points are not ok")
	assert.Contains(t, string(said), fmt.Sprintf("Failed %d/%d subtests", bad, all))
	assert.NotContains(t, string(said), "Parse errors")

	for i := range r.Result.Suites {
		for j := range r.Result.Suites[i].Cases {
			c := &r.Result.Suites[i].Cases[j]
			c.Verdict, c.Checks = record.Pass, c.Checks[:min(1, len(c.Checks))]
			for k := range c.Checks {
				c.Checks[k].Verdict = record.Pass
			}
		}
	}
	b.Reset()
	require.NoError(t, TAP(&b, r))
	require.NoError(t, os.WriteFile(file, b.Bytes(), 0o600))
	said, err = exec.Command(prove, "--source", "File", "--ext", ".tap", file).CombinedOutput()
	require.NoError(t, err, "%s", said)
	assert.Contains(t, string(said), "Result: PASS")
}

// The csv module of Python reads the tables, every line with as many cells as its head.
func TestTablesAreReadByAnotherLanguage(t *testing.T) {
	python := program(t, "python3", "python3")
	r := exported(t)
	folder := filepath.Join(t.TempDir(), "tables")
	require.NoError(t, CSV(folder, r))
	said, err := exec.Command(python, "-c", `
import csv, glob, os, sys
for name in sorted(glob.glob(os.path.join(sys.argv[1], "*"))):
    rows = list(csv.reader(open(name, newline=""), strict=True))
    assert all(len(row) == len(rows[0]) for row in rows), name
    bad = [c for row in rows for c in row if c[:1] in "=+@\t\r" and c or c[:1] == "-" and not c.lstrip("-").replace(".", "").isdigit()]
    assert not bad, (name, bad)
    print(os.path.basename(name), len(rows), rows[0][0], rows[1][0])
`, folder).CombinedOutput()
	require.NoError(t, err, "%s", said)
	all, _ := tests(r.Result)
	lines := strings.Split(strings.TrimSpace(string(said)), "\n")
	require.Len(t, lines, 3, "%s", said)
	assert.Equal(t, "00-000-etc-passwd-case.csv 3 time (s) 0.000", lines[0])
	assert.Equal(t, "cases.csv 13 suite ../../../etc/passwd", lines[1])
	assert.Contains(t, lines[2], fmt.Sprintf("checks.csv %d suite", all-4+1))

	data, err := os.ReadFile(filepath.Join(folder, "00-000-etc-passwd-case.csv"))
	require.NoError(t, err)
	assert.True(t, strings.HasPrefix(string(data),
		"time (s),yaw_rate (rad/s),motor.front_left mean (1),motor.front_left lowest (1),motor.front_left highest (1),motor.front_right mean (1),"), "%.200s", data)
	assert.Contains(t, string(data), "\n0.000,0.50000,0.40000,0.35000,0.45000,")
	assert.Contains(t, string(data), "\n0.010,0.25000,,,,")
}
