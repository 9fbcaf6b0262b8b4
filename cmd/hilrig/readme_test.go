package main

import (
	"bytes"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig/raspberry"
	"hilrig/rig/signal"
)

// inRepository returns the path of a file of the repository.
func inRepository(name string) string { return filepath.Join("..", "..", filepath.FromSlash(name)) }

// readme returns the text of README.md.
func readme(t testing.TB) string {
	t.Helper()
	text, err := os.ReadFile(inRepository("README.md"))
	require.NoError(t, err)
	return string(text)
}

// output returns what the program prints on standard output for args, which has to end GO.
func output(t *testing.T, args ...string) string {
	t.Helper()
	var out, complaints bytes.Buffer
	require.Equal(t, exitGo, run(t.Context(), args, &out, &complaints), "%v: %s", args, complaints.String())
	return out.String()
}

// README shows what the program prints, save how long it took and where the record is.
// With -update the test takes it over.
func TestTheReadmeShowsWhatARunPrints(t *testing.T) {
	t.Setenv("XDG_STATE_HOME", t.TempDir())
	host := regexp.MustCompile(`(?m) in [0-9.]+ s, (digest [0-9a-f]+), kept in .*$`)
	got := host.ReplaceAllString(output(t, "run", "split"), " in 2.2 s, $1, kept in ~/.local/state/hilrig/records/2026-11-25-150614")
	shown := regexp.MustCompile("(?s)```\n(car .*?)```\n").FindStringSubmatchIndex(readme(t))
	require.NotNil(t, shown, "README.md shows what a run prints")
	want := readme(t)[shown[2]:shown[3]]
	if *update && want != got {
		text := readme(t)[:shown[2]] + got + readme(t)[shown[3]:]
		require.NoError(t, os.WriteFile(inRepository("README.md"), []byte(text), 0o644))
		return
	}
	assert.Equal(t, want, got, "README.md shows another output; accept it with -update")
}

// readmeDigest returns the digest of the whole standard set, as README has it.
func readmeDigest(t testing.TB) string {
	found := regexp.MustCompile(`its digest is ([0-9a-f]{12})`).FindStringSubmatch(readme(t))
	require.NotNil(t, found, "README.md has the digest of the standard set")
	return found[1]
}

// The guides' pictures are what the program draws. With -update they are drawn anew.
func TestTheGuidesShowWhatTheProgramDraws(t *testing.T) {
	drawn := filepath.Join(t.TempDir(), "header.svg")
	output(t, "wiring", "--svg", drawn)
	header, err := os.ReadFile(drawn)
	require.NoError(t, err)
	isPicture(t, "rig/raspberry/header.svg", header)

	timing, err := inventedTimed().picture()
	require.NoError(t, err)
	isPicture(t, "rig/raspberry/timing.svg", timing)
}

// isPicture holds a picture of the repository to what was drawn.
func isPicture(t *testing.T, name string, drawn []byte) {
	t.Helper()
	if *update {
		require.NoError(t, os.WriteFile(inRepository(name), drawn, 0o644))
	}
	kept, err := os.ReadFile(inRepository(name))
	require.NoError(t, err)
	assert.Equal(t, strings.Split(string(kept), "\n"), strings.Split(string(drawn), "\n"), "%s is another picture; accept it with -update", name)
}

// inventedTimed returns what an invented machine could show: what a real one does is
// another each time. Most reads come at once, some behind an interrupt, a few after
// another program had the processor.
func inventedTimed() *timed {
	k := &raspberry.Kept{For: 60 * signal.Second}
	hill := func(h *raspberry.Histogram, at signal.Time, tallest uint64) {
		for share := uint64(1); tallest/share > 0; share *= 8 {
			h.AddMany(at, tallest/share)
			at += at/5 + 1
		}
	}
	hill(&k.Gaps, 24, 2e9)
	hill(&k.Gaps, 2*signal.Microsecond, 40e3)
	hill(&k.Gaps, 18*signal.Microsecond, 900)
	hill(&k.Late, 12, 60e6)
	hill(&k.Late, 2*signal.Microsecond, 3e3)
	hill(&k.Late, 18*signal.Microsecond, 80)
	return &timed{on: "an invented machine", noPi: true, kept: k}
}
