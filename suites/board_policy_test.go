package suites_test

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig/benchtest/drawn"
	"hilrig/suites"
	"hilrig/suites/language"
	"hilrig/suites/record"
)

// fileAt reads a file of the tests.
func fileAt(t *testing.T, path string) language.Source {
	t.Helper()
	data, err := os.ReadFile(path)
	require.NoError(t, err)
	return language.Source{Path: path, Data: data}
}

// TestTheBoardOfTheOwnersFilesKeepsThem plays suites to the board that is made of car and bench:
// the cars of three owners, the demo car on benches with other motor commands, wheel sensors and
// receivers, and on wires drawn at random.
func TestTheBoardOfTheOwnersFilesKeepsThem(t *testing.T) {
	type files struct {
		name       string
		car, bench language.Source
		cases      string
	}
	demo := bramble("")
	var all []files
	for _, o := range owners {
		all = append(all, files{o.name, fileAt(t, "testdata/"+o.name+".yaml"), fileAt(t, "testdata/"+o.name+"_bench.yaml"), ""})
	}
	for _, pattern := range []string{"testdata/benches/*.yaml", "testdata/wires/*.yaml"} {
		paths, err := filepath.Glob(pattern)
		require.NoError(t, err)
		for _, path := range paths {
			if !strings.Contains(path, "tacho") { // which does not tell reverse, of which the demo car's policy asks something
				all = append(all, files{path, demo.Car, fileAt(t, path), policyCases})
			}
		}
	}
	for n := range uint64(drawnWires) {
		d := drawLaw(n + 1)
		car := demo.Car
		if strings.Contains(string(d.bench.Data), "tacho") {
			car.Data = []byte(strings.Replace(string(car.Data), "  reverse: no_shift\n", "", 1))
		}
		all = append(all, files{"drawn wires " + string(d.bench.Data), car, d.bench, policyCases})
	}
	for i, f := range all {
		if !drawn.Row(i, 4) {
			continue
		}
		name, _, _ := strings.Cut(f.name, "\n")
		t.Run(name, func(t *testing.T) {
			from := bramble("from-policy", policySuites...)
			from.Car, from.Bench = f.car, f.bench
			r, _ := play(t, load(t, from), suites.Options{Only: f.cases})
			assert.Empty(t, troubles(r), "%s", f.bench.Data)
			assert.NotZero(t, r.Counts.Pass)
			if f.cases == "" {
				assert.Equal(t, record.Go, r.Outcome)
			}
		})
	}
}

// TestWhatTheBoardOfTheOwnersFilesCannotKeep names the key or the wire, and the remedy.
func TestWhatTheBoardOfTheOwnersFilesCannotKeep(t *testing.T) {
	for _, c := range []struct{ name, old, new, want string }{
		{"too fast a loss", "yaw_lost: {no_shift_within: 100 ms}", "yaw_lost: {no_shift_within: 12 ms}",
			"from-policy: yaw_lost within 0.012 s leaves the built-in board 0 s to notice; what it would miss comes every 0.005 s, and its answer takes 0.012 s: declare a longer time, or a faster wire or output"},
		{"on request", "- rate: 200 Hz\n        fields", "- reply_to: [0x52]\n        fields",
			"from-policy: the yaw rate on yaw_serial comes on request; the built-in board asks for nothing: give its frame a rate"},
		{"tachos", "kind: quadrature\n  lines: 256", "kind: tacho\n  pulses: 200",
			`from-policy: the policy has reverse: no_shift, and the tachos of bench "bramble bench" do not tell which way a wheel rolls; leave reverse out, or declare other encoders`},
		{"all lost is less than one lost", "  recovers: by_itself\n", "  recovers: by_itself\n  receiver_lost: {no_shift_within: 100 ms}\n",
			"from-policy: receiver_lost asks for less than throttle_lost, which is lost with it: the built-in board, which sees each pulse for itself, cannot keep both"},
	} {
		t.Run(c.name, func(t *testing.T) {
			f := bramble("from-policy", "split")
			for _, s := range []*language.Source{&f.Car, &f.Bench} {
				s.Data = []byte(strings.Replace(string(s.Data), c.old, c.new, 1))
			}
			_, err := suites.Load(f)
			assert.EqualError(t, err, c.want)
		})
	}
}
