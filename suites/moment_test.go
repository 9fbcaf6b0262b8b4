package suites_test

import (
	"context"
	"os"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/suites"
	"hilrig/suites/demo"
	"hilrig/suites/language"
	"hilrig/suites/standard"
)

// thistle returns the second demo's files for its board, with or without a fault.
func thistle(t testing.TB, board string, names ...string) suites.Files {
	d := demo.Of("built-in/moment")
	f := suites.Files{
		Car: language.Source{Path: d.CarPath, Data: d.Car}, Bench: language.Source{Path: d.BenchPath, Data: d.Bench},
		Board: board, Seed: 1,
	}
	for _, name := range names {
		path, data, ok := standard.Source(name)
		require.True(t, ok)
		f.Suites = append(f.Suites, language.Source{Path: path, Data: data})
	}
	return f
}

// The second board, which was written against the wires' description alone, is understood from
// end to end: it arms, and shifts all four motors the right way round; and the same case
// fails on one that shifts the other way.
func TestTheSecondBoardDrives(t *testing.T) {
	for _, row := range []struct {
		board string
		well  bool
	}{
		{"built-in/moment", true},
		{"built-in/moment:wheels_exchanged", true},
		{"built-in/moment:sides_exchanged", false},
		{"built-in/moment:fade_late", false},
	} {
		t.Run(row.board, func(t *testing.T) {
			r, _ := play(t, load(t, thistle(t, row.board, "split")), suites.Options{Only: "understeer turns torque in"})
			assert.Equal(t, row.well, r.Counts.Fail == 0, "%v", troubles(r))
			if row.well {
				assert.Equal(t, 60, r.Counts.Pass, "%v", troubles(r))
			}
		})
	}
}

func TestTheSecondBoardHasItsOwnWires(t *testing.T) {
	for _, row := range []struct {
		name, path, want string
	}{
		{"the other demo's", "demo/bramble_bench.yaml", `built-in/moment sends dshot300, upright and in one direction, and bench "bramble bench" declares other motor commands`},
		{"no receiver bus", "testdata/benches/dshot300.yaml", "the bench has no line receiver_bus for a receiver's bus"},
		{"inverted", "testdata/benches/dshot600_inverted.yaml", "declares other motor commands"},
	} {
		t.Run(row.name, func(t *testing.T) {
			f := thistle(t, "built-in/moment", "split")
			data, err := os.ReadFile(row.path)
			require.NoError(t, err)
			f.Bench = language.Source{Path: row.path, Data: data}
			_, _, err = load(t, f).Run(context.Background(), suites.Options{})
			assert.ErrorContains(t, err, row.want)
		})
	}
	for board, says := range map[string]string{"built-in/moment:no_cap": "has no fault \"no_cap\"; use ", "built-in/momentum": "is not known; ", "built-in/": "is not known; "} {
		_, err := suites.Load(thistle(t, board, "split"))
		assert.ErrorContains(t, err, says, board)
	}
}
