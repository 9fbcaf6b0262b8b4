package suites_test

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig/board"
	"hilrig/suites"
	"hilrig/suites/language"
	"hilrig/suites/record"
)

// onFormats plays standard suites on each bench of testdata/benches, which differ
// in how the board sends its motor commands, and asks for no check that is not passed.
func onFormats(t *testing.T, o suites.Options, names ...string) {
	t.Helper()
	paths, err := filepath.Glob("testdata/benches/*.yaml")
	require.NoError(t, err)
	require.Len(t, paths, 7)
	for _, path := range paths {
		t.Run(strings.TrimSuffix(filepath.Base(path), ".yaml"), func(t *testing.T) {
			f := bramble("", names...)
			data, err := os.ReadFile(path)
			require.NoError(t, err)
			f.Bench = language.Source{Path: path, Data: data}
			r, driving := play(t, load(t, f), o)
			assert.Empty(t, troubles(r))
			assert.NotZero(t, r.Counts.Pass)
			if o.Only == "" {
				assert.Equal(t, record.Go, r.Outcome)
			}
			t.Logf("%d cases, %d checks, %.0f s of driving", r.Counts.Cases, r.Counts.Pass, driving.Seconds())
		})
	}
}

// TestFormats plays a sample of the timing in each format; TestTheBoardOfTheOwnersFilesKeepsThem plays one of the split.
func TestFormats(t *testing.T) {
	onFormats(t, suites.Options{Only: "commands go out together"}, "timing")
}

// TestWrongFormat puts a board on the bench that sends another format than the
// bench declares: that is told, and no command is made up.
func TestWrongFormat(t *testing.T) {
	for _, row := range []struct{ bench, board string }{
		{"dshot300", "dshot600"}, {"dshot600", "dshot300"}, {"dshot600", "servo_pulse"}, {"oneshot125", "servo_pulse"},
		{"oneshot125", "dshot150"}, {"servo_inverted", "dshot600"},
	} {
		t.Run(row.bench+" hears "+row.board, func(t *testing.T) {
			f := bramble("", "split")
			path := "testdata/benches/" + row.bench + ".yaml"
			data, err := os.ReadFile(path)
			require.NoError(t, err)
			f.Bench = language.Source{Path: path, Data: data}
			s := load(t, f)
			settings := board.Bramble()
			settings.Output.Format = board.Format(row.board)
			s.WithBoard("another", settings)
			r, _ := play(t, s, suites.Options{Only: "understeer turns torque"})
			assert.Equal(t, record.NoGo, r.Outcome)
			for _, c := range r.Suites[0].Cases {
				for _, k := range c.Checks {
					assert.NotEqual(t, record.Pass, k.Verdict, k.Name)
				}
			}
		})
	}
}
