//go:build full

package suites

import (
	"flag"
	"fmt"
	"os"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig/board"
	"hilrig/rig/signal"
	"hilrig/suites/demo"
	"hilrig/suites/language"
	"hilrig/suites/record"
	"hilrig/suites/report/compare"
	"hilrig/suites/standard"
)

func init() { fewSeeds, slowTrials = 200, 2 }

// otherSeeds is under how many other seeds the standard suites are held against themselves.
var otherSeeds = flag.Int("other-seeds", 2, "play the standard suites under so many other seeds and hold each against the first; 200 take half an hour")

// standardRun plays the standard suites, signs of life first as the program does, to a built-in board with some settings changed.
func standardRun(t *testing.T, seed uint64, change func(b *board.Settings)) (*compare.Run, *Setup) {
	t.Helper()
	f := Files{
		Car:   language.Source{Path: demo.CarPath, Data: demo.CarYAML},
		Bench: language.Source{Path: demo.BenchPath, Data: demo.BenchYAML},
		Board: "built-in", Seed: seed, Read: readDemo,
	}
	for _, name := range append([]string{standard.Life}, standard.Names()...) {
		path, data, ok := standard.Source(name)
		require.True(t, ok)
		f.Suites = append(f.Suites, language.Source{Path: path, Data: data})
	}
	s, err := Load(f)
	require.NoError(t, err)
	return playedAs(t, s, seed, change), s
}

// readDemo reads the drive log that the standard suites name.
func readDemo(path string) ([]byte, error) {
	if path == demo.LogPath {
		return demo.LogCSV, nil
	}
	return nil, os.ErrNotExist
}

// What was changed in a board is named by the standard suites under one seed and under another, with what follows from it under it,
// and nothing else. Loop and output of the demo's board have 4 and 3 ms, so that the time from a turn to a frame is drawn anew with the seed by up
// to 1 ms: half a millisecond more of it is seen where the phases are the same, under one seed, and cannot be under another.
func TestTheStandardSuitesNameWhatChanged(t *testing.T) {
	before, s := standardRun(t, 1, healthy)
	require.Equal(t, record.Go, before.Record.Result.Outcome, before.Record.Result.Why)
	second, _ := standardRun(t, 2, healthy)
	later := func(b *board.Settings) {
		for m := range b.Shaping.Delay {
			b.Shaping.Delay[m] = 500 * signal.Microsecond
		}
	}
	for _, test := range []struct {
		name   string
		change func(b *board.Settings)
		want   string
		other  bool // it is told under another seed too
	}{
		{"a shift 3 % larger", func(b *board.Settings) { b.ShiftIs *= 1.03 }, "shift", true},
		{"a loop 2 % slower", func(b *board.Settings) { b.LoopPeriod = b.LoopPeriod * 102 / 100 }, "loop rate", true},
		{"a response 0.5 ms later", later, "response", false},
	} {
		for seed := uint64(1); seed <= 2; seed++ {
			after, _ := standardRun(t, seed, test.change)
			for i, of := range []*compare.Run{before, second} {
				if uint64(i+1) != seed && !test.other {
					continue
				}
				t.Run(fmt.Sprintf("%s, seeds %d and %d", test.name, i+1, seed), func(t *testing.T) {
					c := compare.Of(of, after, s.Known())
					assert.Equal(t, []string{test.want}, c.Names())
					assert.Equal(t, 1, c.Exit())
					for _, x := range c.Changes {
						assert.Equal(t, test.want, x.Follows, "%+v", x)
					}
				})
			}
		}
	}
}

// Of one firmware under so many other seeds at most one in a hundred is told from itself at all.
func TestTheStandardSuitesUnderOtherSeedsAreTheSame(t *testing.T) {
	before, s := standardRun(t, 1, healthy)
	told := 0
	for seed := uint64(2); seed < uint64(2+*otherSeeds); seed++ {
		after, _ := standardRun(t, seed, healthy)
		c := compare.Of(before, after, s.Known())
		if len(c.Changes)+len(c.Causes) > 0 {
			told++
			t.Logf("seed %d: exit %d, %+v %+v", seed, c.Exit(), c.Causes, c.Changes)
		}
	}
	t.Logf("%d of %d told from the first", told, *otherSeeds)
	assert.LessOrEqual(t, told, *otherSeeds/100)
}
