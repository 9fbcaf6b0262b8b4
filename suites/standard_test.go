package suites_test

import (
	"context"
	"os"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig/signal"
	"hilrig/suites"
	"hilrig/suites/demo"
	"hilrig/suites/language"
	"hilrig/suites/record"
	"hilrig/suites/standard"
)

// workers is how many suites the tests play side by side.
const workers = 2

// bramble returns the files of the demo car on its bench, with that board and
// the standard suites of those names; none: all.
func bramble(board string, names ...string) suites.Files {
	f := suites.Files{
		Car:   language.Source{Path: demo.CarPath, Data: demo.CarYAML},
		Bench: language.Source{Path: demo.BenchPath, Data: demo.BenchYAML},
		Board: board, Seed: 1, Read: readLog,
	}
	if len(names) == 0 {
		names = standard.Names()
	}
	for _, name := range names {
		path, data, _ := standard.Source(name)
		f.Suites = append(f.Suites, language.Source{Path: path, Data: data})
	}
	return f
}

// readLog returns the demo's drive log.
func readLog(path string) ([]byte, error) {
	if path == demo.LogPath {
		return demo.LogCSV, nil
	}
	return nil, os.ErrNotExist
}

// shownNothing are the cases whose error at that point of the policy is too small, of the demo, for
// a board that shifts there to be told from one that does not.
var shownNothing = []string{"no shift on demand", "no shift in reverse"}

// unaskedFor lists what is not asked for another reason than that the policy lacks a key, or that
// what a board does as it is powered up has words of its own.
func unaskedFor(r *record.Result) (names []string) {
	for _, s := range r.Suites {
		for _, c := range s.Cases {
			for _, k := range c.Checks {
				if k.Name == "braking" {
					continue // the demo's policy does not speak of it, and its motors do not brake by command
				}
				if c.Name == "loop rate by the throttle" {
					continue // the demo's motors follow the speed, by which its loop rate is asked
				}
				if k.Verdict == record.NotAsked && !strings.HasPrefix(k.Why, "the policy has no ") && !strings.HasPrefix(k.Why, "the board was just powered up") && !(s.Name == "demand" && slices.Contains(shownNothing, c.Name)) {
					names = append(names, c.Title()+": "+k.Name+": "+k.Why)
				}
			}
		}
	}
	return names
}

// load reads files that are right.
func load(t testing.TB, f suites.Files) *suites.Setup {
	t.Helper()
	s, err := suites.Load(f)
	require.NoError(t, err)
	return s
}

// play plays a setup.
func play(t testing.TB, s *suites.Setup, o suites.Options) (*record.Result, signal.Time) {
	t.Helper()
	o.Workers = workers
	r, driving, err := s.Run(context.Background(), o)
	require.NoError(t, err)
	return r, driving
}

// troubles lists the checks of a result that are neither passed nor not asked.
func troubles(r *record.Result) []string {
	var all []string
	for _, s := range r.Suites {
		for _, c := range s.Cases {
			for _, k := range c.Checks {
				if k.Verdict == record.Fail || k.Verdict == record.Undecided {
					all = append(all, k.Verdict+": "+s.Name+", "+c.Name+" ("+c.Variant+"): "+k.Name+": "+k.Why)
				}
			}
		}
	}
	return all
}

// demoRun is what came of all standard suites on the demo's board without a fault.
type demoRun struct {
	result  *record.Result
	driving signal.Time
	took    time.Duration
	err     error
}

// playedDemo is played once for all tests that hold something against it; none changes it.
var playedDemo = sync.OnceValue(func() (d demoRun) {
	s, err := suites.Load(bramble("", demoSuites...))
	if err != nil {
		return demoRun{err: err}
	}
	began := time.Now()
	d.result, d.driving, d.err = s.Run(context.Background(), suites.Options{Workers: workers})
	d.took = time.Since(began)
	return d
})

// demoNames are the names of the suites of the demo that are played for all tests.
func demoNames() []string {
	if demoSuites == nil {
		return standard.Names()
	}
	return demoSuites
}

// onDemo returns what came of these standard suites in it: their cases alone, without the
// outcome and the counts.
func onDemo(t testing.TB, names ...string) *record.Result {
	t.Helper()
	d := playedDemo()
	require.NoError(t, d.err)
	some := new(record.Result)
	for _, name := range names {
		i := slices.Index(demoNames(), name)
		require.GreaterOrEqual(t, i, 0, name)
		some.Suites = append(some.Suites, d.result.Suites[i])
	}
	return some
}

// TestStandardSuitesOnBramble plays all that the demo car's policy can be held
// to, a part of it beside the full set. How long it takes is printed.
func TestStandardSuitesOnBramble(t *testing.T) {
	if testing.Short() {
		t.Skip("plays many minutes of driving")
	}
	d := playedDemo()
	require.NoError(t, d.err)
	r, driving, took := d.result, d.driving, d.took
	assert.Equal(t, record.Go, r.Outcome)
	assert.Empty(t, strings.Join(troubles(r), "\n"))
	assert.Empty(t, unaskedFor(r), "what the demo's policy declares is asked in every case")
	if demoSuites == nil {
		assert.GreaterOrEqual(t, r.Counts.Cases, 150)
	}
	assert.GreaterOrEqual(t, driving, 5*60*signal.Second)
	t.Logf("%d cases, %d checks, %.0f s of driving in %.1f s", r.Counts.Cases, r.Counts.Pass, driving.Seconds(), took.Seconds())
}
