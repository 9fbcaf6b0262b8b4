package search

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/suites"
	"hilrig/suites/demo"
	"hilrig/suites/language"
	"hilrig/suites/record"
	"hilrig/suites/standard"
)

// filesFor returns what is searched on a board with its demo car and bench.
func filesFor(board string, seed uint64) suites.Files {
	own := demo.Of(board)
	path, data, _ := standard.Source(standard.Life)
	return suites.Files{
		Car: language.Source{Path: own.CarPath, Data: own.Car}, Bench: language.Source{Path: own.BenchPath, Data: own.Bench},
		Suites: []language.Source{{Path: path, Data: data}}, Board: board, Seed: seed,
	}
}

// searched returns what a search on a board comes to.
func searched(t *testing.T, board string, seed uint64, o Options) *Result {
	t.Helper()
	setup, err := suites.Load(filesFor(board, seed))
	require.NoError(t, err)
	r, err := Run(t.Context(), setup, o)
	require.NoError(t, err)
	return r
}

func TestTheSameSeedDrawsTheSameDrivesAndAllCanBePlayed(t *testing.T) {
	setup, err := suites.Load(filesFor("built-in", 1))
	require.NoError(t, err)
	a := newArtist(setup.Car, func(*drive) bool { return true })
	losses, waited, points := 0, 0, map[string]int{}
	var kept []drive
	for n := range 150 {
		d, again := a.drive(5, n, kept), a.drive(5, n, kept)
		require.Equal(t, d, again)
		_, err := setup.With(1, d.suite(fmt.Sprint("drive ", n), "Drawn."))
		require.NoError(t, err)
		switch {
		case d.loss != nil:
			losses++
		case d.point != nil:
			points[d.point.of]++
			assert.True(t, d.point.key == "" || slices.Contains(setup.Car.Asked, d.point.key), "%s is asked for what the policy leaves out", d.point.of)
		default:
			kept = append(kept, d)
		}
		waited = max(waited, d.wait)
	}
	assert.NotEqual(t, a.drive(5, 0, nil), a.drive(6, 0, nil))
	assert.InDelta(t, 0.2*150, losses, 20)
	assert.Greater(t, len(points), 8, "%v", points)
	assert.Equal(t, briefWait, waited)
}

// The check here fails where the throttle is at 90 % or more and the wheels are turned by more than 4 deg
// either way: the least that shows it is known.
func TestADriveIsShrunkToTheLeastThatShowsIt(t *testing.T) {
	setup, err := suites.Load(filesFor("built-in", 1))
	require.NoError(t, err)
	shows := func(d *drive) bool {
		for i := range d.pieces {
			v := &d.pieces[i].values
			if v[throttle].to >= 90 && (v[steer].to > 4 || v[steer].to < -4) {
				return true
			}
		}
		return false
	}
	first := func(all []drive) (int, error) {
		for i := range all {
			if shows(&all[i]) {
				return i, nil
			}
		}
		return -1, nil
	}
	found := 0
	a := newArtist(setup.Car, func(*drive) bool { return true })
	for n := range 200 {
		d := a.drive(3, n, nil)
		if d.loss != nil || !shows(&d) {
			continue
		}
		found++
		d, err := shrink(d, 2000, first)
		require.NoError(t, err)
		require.Len(t, d.pieces, 1)
		p := d.pieces[0]
		assert.Equal(t, least, p.length)
		assert.Contains(t, []value{{to: 90}, {to: 100}}, p.values[throttle])
		assert.Equal(t, value{}, p.values[yawRate])
		assert.LessOrEqual(t, digits(p.values[steer].to), 2.0, "%v", p.values[steer])
		assert.Zero(t, p.values[steer].over)
	}
	assert.Greater(t, found, 10)
}

// What was seen in a drawn drive is seen again just so where the drive is played by itself: a search that is not
// sure of that tells what it found as something that came once.
func TestWhatADriveShowedItShowsAgain(t *testing.T) {
	setup, err := suites.Load(filesFor("built-in:no_cap", 3))
	require.NoError(t, err)
	s := &searcher{setup: setup, options: Options{Tries: -1}, result: &Result{}}
	require.NoError(t, s.take())
	s.artist = newArtist(setup.Car, s.plays)
	for n := 0; len(s.seen) == 0 && n < 20; n++ {
		require.NoError(t, s.round(t.Context(), n))
	}
	require.NotEmpty(t, s.seen)
	for _, c := range s.seen {
		f, again, err := s.shrunk(t.Context(), c.drive, &c.check, c.number)
		require.NoError(t, err)
		assert.True(t, again, c.check.Why)
		assert.Equal(t, c.check.Why, f.Why)
	}
}

func TestNothingIsFoundInHealthyBoards(t *testing.T) {
	boards := []string{"built-in", "built-in/moment"}
	if testing.Short() {
		boards = boards[:1]
	}
	for _, board := range boards {
		r := searched(t, board, 7, Options{Drives: 8})
		assert.Empty(t, r.Found, "%s: %s", board, r.Text(nil))
		assert.Equal(t, NothingFound, r.Outcome, board)
		assert.Greater(t, r.Judged, 4, board)
	}
}

// A board of which nothing was judged, as one that commands nothing, keeps every limit, and nothing is shown.
func TestNothingJudgedShowsNothing(t *testing.T) {
	for _, row := range []struct {
		came Result
		want string
	}{
		{Result{Round: Round{Drives: 8}}, record.NotShown},
		{Result{Round: Round{Drives: 8, Judged: 1}}, NothingFound},
		{Result{Round: Round{Drives: 8, Judged: 1}, NotAgain: []Finding{{Check: "cap"}}}, record.NotShown},
		{Result{Round: Round{Drives: 8, Judged: 1}, Stopped: true}, record.NotShown},
		{Result{Round: Round{Drives: 8, Judged: 1}, Stopped: true, Found: []Finding{{Check: "cap"}}}, Found},
	} {
		row.came.seal()
		assert.Equal(t, row.want, row.came.Outcome, "%+v", row.came)
		if row.want == Found {
			assert.Equal(t, "FOUND 1", row.came.Words())
		} else {
			assert.Equal(t, row.want, row.came.Words())
		}
	}
	assert.NotEqual(t, NothingFound, searched(t, "null:silent", 1, Options{Drives: 8, Most: 1, Tries: 1}).Outcome)
}

// What is found is a suite file with the check that fails, and fails there too.
func TestSeededFaultsAreFoundAndWrittenAsSuites(t *testing.T) {
	faults := []string{"left_right", "sum_lost", "degrees_for_radians"}
	if testing.Short() {
		faults = faults[:1]
	}
	for _, fault := range faults {
		board := "built-in:" + fault
		r := searched(t, board, 1, Options{Drives: 8, Tries: 1, Most: 1})
		require.NotEmpty(t, r.Found, fault)
		assert.Equal(t, Found, r.Outcome)
		files := filesFor(board, 1)
		files.Suites = append(files.Suites, language.Source{Path: r.Found[0].File, Data: []byte(r.Found[0].Suite)})
		setup, err := suites.Load(files)
		require.NoError(t, err)
		result, _, err := setup.Run(t.Context(), suites.Options{})
		require.NoError(t, err)
		o := outcome{fails: result.Suites[1].Cases[0].Checks}
		k := o.failing(r.Found[0].Check)
		require.NotNil(t, k, fault)
		assert.Equal(t, record.Fail, k.Verdict, fault)
		assert.Equal(t, r.Found[0].Why, k.Why, fault)
	}
}

func TestASearchThatIsStoppedSaysSo(t *testing.T) {
	setup, err := suites.Load(filesFor("built-in", 1))
	require.NoError(t, err)
	ctx, stop := context.WithCancel(t.Context())
	r, err := Run(ctx, setup, Options{Progress: func(p Progress) {
		if p.Drives > 0 {
			stop()
		}
	}})
	require.NoError(t, err)
	assert.True(t, r.Stopped)
	assert.Equal(t, lines*inRound, r.Drives)
	assert.Equal(t, record.NotShown, r.Outcome)
}

func TestABenchOnPinsIsRefused(t *testing.T) {
	setup, err := suites.Load(filesFor("built-in", 1))
	require.NoError(t, err)
	setup.Bench.Kind = "raspberry"
	_, err = Run(t.Context(), setup, Options{Drives: 8})
	require.ErrorIs(t, err, ErrReal)
}

// What is typed to play it again is what was typed to find it, though a shell reads it.
func TestWhatIsTypedToPlayItAgain(t *testing.T) {
	for _, row := range []struct {
		typed Typed
		want  string
	}{
		{Typed{Board: "built-in:no_cap"}, "hilrig run a.yaml --board built-in:no_cap --seed 4\n"},
		{Typed{Car: "my car.yaml", Board: "built-in", Command: "./it's {seed}"}, `hilrig run a.yaml --car 'my car.yaml' --board-command './it'\''s {seed}' --seed 4`},
	} {
		r := Result{Flags: row.typed.flags(4), Found: []Finding{{}}}
		assert.Contains(t, r.Text([]string{"a.yaml"}), row.want)
	}
	setup, err := suites.Load(filesFor("built-in", 1))
	require.NoError(t, err)
	_, err = Run(t.Context(), setup, Options{Drives: 8, Into: filepath.Join(t.TempDir(), "none")})
	require.ErrorContains(t, err, "is no folder that suites can be written into")
}

func TestASuiteReplacesNoFile(t *testing.T) {
	folder := t.TempDir()
	path := filepath.Join(folder, "a.yaml")
	require.NoError(t, os.WriteFile(path, []byte("mine"), 0o600))
	r := Result{Found: []Finding{{File: "a.yaml", Suite: "found"}}}
	for range 2 { // the same again is no other file
		paths, err := r.Write(folder)
		require.NoError(t, err)
		assert.Equal(t, []string{filepath.Join(folder, "a_2.yaml")}, paths)
	}
	mine, err := os.ReadFile(path)
	require.NoError(t, err)
	assert.Equal(t, "mine", string(mine))
}

// What failed at the search's seed alone is kept as well, with what is typed to play it there.
func TestWhatFailedAtOneSeedIsWrittenToo(t *testing.T) {
	folder := t.TempDir()
	r := Result{
		Seed: 7, Flags: " --seed 7", Found: []Finding{{Check: "cap", File: "a.yaml", Suite: "found", Seeds: []uint64{7, 8, 9}, Confirmed: true}},
		NotAgain: []Finding{{Check: "floor", Why: "it fell", Drive: 3, File: "b.yaml", Suite: "once"}},
	}
	paths, err := r.Write(folder)
	require.NoError(t, err)
	once := filepath.Join(folder, "b.yaml")
	assert.Equal(t, []string{filepath.Join(folder, "a.yaml"), once}, paths)
	written, err := os.ReadFile(once)
	require.NoError(t, err)
	assert.Equal(t, "once", string(written))
	assert.Contains(t, r.Text(paths), "failed at seed 7 and not at another: drive 3: floor: it fell\n\n  play it: hilrig run "+once+" --seed 7\n")
}
