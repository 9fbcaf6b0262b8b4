package live

import (
	"bytes"
	"fmt"
	"os"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig/raspberry/pinout"
	"hilrig/suites/file"
	"hilrig/suites/language"
)

// Benches with and without an interlock, a reset by each way, an inverted port, on each model: what is
// drawn above the drawing's list of parts is what that list and the printed one name, and nothing else.
func TestTheCircuitOfABenchShowsThePartsThatItsListNames(t *testing.T) {
	name := regexp.MustCompile(`\b[A-Z]{1,2}\d+\b|\bKT\b|\bD, Z\b`)
	words := regexp.MustCompile(`<text x="(\d+)"[^>]*?( font-weight="bold")?>([^<]*)</text>`)
	plain, err := os.ReadFile("../demo/bramble_bench.yaml")
	require.NoError(t, err)
	serials, err := os.ReadFile("../demo/thistle_bench.yaml")
	require.NoError(t, err)
	seen := make(map[string]bool)
	tried := 0
	for _, m := range pinout.Models {
		onPins, err := onPi(plain, m.String())
		require.NoError(t, err)
		for kind, text := range map[string]string{"proposed": string(plain), "thistle": string(serials), "on pins": string(onPins)} {
			for _, reset := range []string{"line", "relay", "none"} {
				for _, interlock := range []bool{true, false} {
					of := fmt.Sprintf("%s on %v, reset by %s, interlock %v", kind, m, reset, interlock)
					wired := wiredAs(t, m, text, reset, interlock)
					if wired == nil {
						continue
					}
					tried++
					wires, _, err := wired.Wires.Propose()
					require.NoError(t, err, of)
					drawing, list, found := strings.Cut(string(CircuitSVG(wired, of, &wires)), ">Parts; ")
					require.True(t, found)
					list, _, _ = strings.Cut(list, ">How soon")
					var drawn, listed, printed []string
					for _, w := range words.FindAllStringSubmatch(drawing, -1) {
						drawn = append(drawn, name.FindAllString(w[3], -1)...)
					}
					for _, w := range words.FindAllStringSubmatch(list, -1) {
						if w[2] != "" {
							listed = append(listed, name.FindAllString(w[3], -1)...)
						}
					}
					var b bytes.Buffer
					WriteParts(&b, wired, &wires)
					for _, row := range regexp.MustCompile(`(?m)^  ([A-Z].{8})`).FindAllStringSubmatch(b.String(), -1) {
						printed = append(printed, name.FindAllString(row[1], -1)...)
					}
					sorted := func(s []string) []string { slices.Sort(s); return slices.Compact(s) }
					assert.Equal(t, sorted(listed), sorted(drawn), of)
					assert.Equal(t, sorted(printed), sorted(listed), of)
					assert.Equal(t, reset == "line", slices.Contains(drawn, "U6"), of)
					assert.Equal(t, reset == "relay", slices.Contains(drawn, "K6"), of)
					for _, ref := range drawn {
						seen[ref] = true
					}
				}
			}
		}
	}
	assert.Greater(t, tried, 30)
	for _, ref := range []string{"Q3", "Q4", "R14", "R15", "R17", "R25", "U6", "U7", "K6"} {
		assert.True(t, seen[ref], "some bench has %s", ref)
	}
}

// wiredAs returns a bench whose board is restarted so, on a model, nil where it cannot be so.
func wiredAs(t *testing.T, m pinout.Model, text, reset string, interlock bool) *Wired {
	t.Helper()
	text = regexp.MustCompile(`(?m)^  reset: .*$`).ReplaceAllString(text, "  reset: "+reset)
	if reset == "none" {
		text = regexp.MustCompile(`(?m)^  reset: GPIO.*\n`).ReplaceAllString(text, "")
	}
	if !interlock {
		text = regexp.MustCompile(`(?m)^interlock:\n(  .*\n)+`).ReplaceAllString(text, "")
	}
	b, err := file.ParseBench(language.Source{Path: "bench.yaml", Data: []byte(text)})
	require.NoError(t, err)
	w := OfBench(b)
	w.Wires.Model = m
	if _, _, err = w.Wires.Propose(); err != nil {
		return nil
	}
	return w
}
