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

	"hilrig/rig/raspberry/realtime"
	"hilrig/rig/raspberry/registers"
	"hilrig/rig/raspberry/timing"
	"hilrig/rig/signal"
	"hilrig/suites/live"
)

// repositoryTop is the folder that holds go.mod, wherever a test has gone meanwhile.
var repositoryTop, _ = filepath.Abs(filepath.Join("..", ".."))

// inRepository returns the path of a file of the repository.
func inRepository(name string) string { return filepath.Join(repositoryTop, filepath.FromSlash(name)) }

// document returns the text of a document of the repository.
func document(t testing.TB, name string) string {
	t.Helper()
	text, err := os.ReadFile(inRepository(name))
	require.NoError(t, err)
	return string(text)
}

// What the documents show is what the program prints, save how long it took and where the
// record is. With -update they take it over.
func TestTheDocumentsShowWhatTheProgramPrints(t *testing.T) {
	t.Setenv("XDG_STATE_HOME", t.TempDir())
	host := regexp.MustCompile(`(?m) in [0-9.]+ s, (digest [0-9a-f]+), kept in .*$`)
	split := host.ReplaceAllString(output(t, exitGo, "run", "split"), " in 2.2 s, $1, kept in ~/.local/state/hilrig/records/2026-11-25-150614")
	isShown(t, "README.md", "car      bramble", split)
	isShown(t, "suites/README.md", "held ", output(t, exitGo, "play", "steer=8deg", "speed=4m/s", "yaw=70%"))

	esc := host.ReplaceAllString(output(t, exitGo, "esc"), " in 1.6 s, $1, kept in ~/.local/state/hilrig/records/2026-11-30-150614")
	isShown(t, "suites/esc/README.md", "stand       bramble stand", esc)

	t.Chdir(t.TempDir())
	isShown(t, "README.md", "$ hilrig new mycar", "$ hilrig new mycar\n"+output(t, exitGo, "new", "mycar"))
	mistaken := "suite: mine\ndefaults: {speed: 4 m/s, throttle: 40 %, gain: 50 %}\ncases:\n  - case: in\n" +
		"    hold: {stear: 8 deg, yaw_rate: 70 % of demand}\n    expect: [{policy: understeer}]\n"
	require.NoError(t, os.WriteFile("mysuite.yaml", []byte(mistaken), 0o600))
	isShown(t, "README.md", "mysuite.yaml:5:", output(t, exitWrong, "run", "mysuite.yaml"))
}

// howFar is how far work has come, which is said of what takes long, as on a busy machine.
var howFar = regexp.MustCompile(`(?m)^\d+ s  .*\n`)

// output returns what the program prints for args, which has to end with code, but for how far it has come meanwhile.
func output(t *testing.T, code int, args ...string) string {
	t.Helper()
	var out bytes.Buffer
	require.Equal(t, code, run(t.Context(), args, &out, &out), "%v: %s", args, out.String())
	return howFar.ReplaceAllString(out.String(), "")
}

// isShown holds what was printed to the block of a document that begins with begin.
func isShown(t *testing.T, name, begin, printed string) {
	t.Helper()
	text := document(t, name)
	block := regexp.MustCompile("(?s)```\n(" + regexp.QuoteMeta(begin) + ".*?)```\n").FindStringSubmatchIndex(text)
	require.NotNil(t, block, "%s has no block that begins with %s", name, begin)
	shown := text[block[2]:block[3]]
	if *update && shown != printed {
		text = text[:block[2]] + printed + text[block[3]:]
		require.NoError(t, os.WriteFile(inRepository(name), []byte(text), 0o644))
		return
	}
	assert.Equal(t, shown, printed, "%s shows another output; accept it with -update", name)
}

// readmeRun returns what README says of a run of the whole standard set: how much it plays,
// as the program writes it, and the digest.
func readmeRun(t testing.TB) (counts, digest string) {
	found := regexp.MustCompile(`plays (\d+ cases) with (\d+ checks) .* digest is ([0-9a-f]{12})`).FindStringSubmatch(document(t, "README.md"))
	require.NotNil(t, found, "README.md says how much the standard set plays, and its digest")
	return found[1] + ", " + found[2], found[3]
}

// The guides' pictures are what the program draws. With -update they are drawn anew.
func TestTheGuidesShowWhatTheProgramDraws(t *testing.T) {
	drawn := filepath.Join(t.TempDir(), "header.svg")
	drawnCircuit := filepath.Join(t.TempDir(), "circuit.svg")
	output(t, exitGo, "wiring", "--svg", drawn, "--circuit", drawnCircuit)
	header, err := os.ReadFile(drawn)
	require.NoError(t, err)
	isPicture(t, "rig/raspberry/header.svg", header)
	circuit, err := os.ReadFile(drawnCircuit)
	require.NoError(t, err)
	isPicture(t, "rig/raspberry/circuit.svg", circuit)

	drawn = filepath.Join(t.TempDir(), "characteristic.svg")
	output(t, exitNoGo, "esc", "--esc", "sharpened", "--record", "none", "--svg", drawn)
	characteristic, err := os.ReadFile(drawn)
	require.NoError(t, err)
	isPicture(t, "suites/esc/characteristic.svg", characteristic)

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
	k := &registers.Measurement{Measurement: timing.Measurement{For: 60 * signal.Second}}
	hill := func(h *realtime.Histogram, at signal.Time, tallest uint64) {
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
	return &timed{&live.Timed{On: "an invented machine", NoPi: true, Measured: k}}
}
