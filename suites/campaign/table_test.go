package campaign

import (
	"bytes"
	"context"
	"maps"
	"path"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/suites"
	"hilrig/suites/demo"
	"hilrig/suites/language"
	"hilrig/suites/record"
	"hilrig/suites/report/faults"
	"hilrig/suites/standard"
)

// makeAnew is what to do where the table that is checked in is not what is played.
const makeAnew = "make the table anew: hilrig faults --table suites/report/faults/faults.jsonl"

// filesOf returns what plays suites to a built-in board with its own car and bench.
func filesOf(board string, suite ...language.Source) suites.Files {
	own := demo.Of(board)
	return suites.Files{
		Car: language.Source{Path: own.CarPath, Data: own.Car}, Bench: language.Source{Path: own.BenchPath, Data: own.Bench},
		Board: board, Seed: 1, Suites: suite, Read: func(string) ([]byte, error) { return demo.LogCSV, nil },
	}
}

// standards returns standard suites.
func standards(t *testing.T, names ...string) (all []language.Source) {
	for _, name := range names {
		path, data, ok := standard.Source(name)
		require.True(t, ok, name)
		all = append(all, language.Source{Path: path, Data: data})
	}
	return all
}

// Each seeded fault was played to whatever suites the table has.
func TestEverySeededFaultHasItsRows(t *testing.T) {
	known := faults.Known()
	require.Len(t, known.Boards, len(Boards()))
	for i, name := range Boards() {
		b := known.Boards[i]
		assert.Equal(t, name, b.Name)
		var rows, seeded []string
		for _, f := range b.Faults {
			rows = append(rows, f.Name)
			for suite, checks := range suitesOf(b.Sound) {
				assert.Less(t, notRun(f.Unmet)[suite], checks, "%s was not played to %s; %s", f.Title(), suite, makeAnew)
			}
		}
		for _, f := range SeededInto(name) {
			seeded = append(seeded, f.Name)
		}
		assert.Equal(t, seeded, rows, makeAnew)
	}
}

// suitesOf counts the checks of each suite among verdicts.
func suitesOf(all faults.Verdicts) map[string]int {
	checks := map[string]int{}
	for key := range all {
		checks[key.Suite]++
	}
	return checks
}

// notRun counts those that were not judged.
func notRun(all faults.Verdicts) map[string]int {
	left := maps.Clone(all)
	maps.DeleteFunc(left, func(_ faults.Key, verdict string) bool { return verdict != record.NotRun })
	return suitesOf(left)
}

// What the table says of some faults is what is played, suite by suite.
func TestTheTableIsWhatIsPlayed(t *testing.T) {
	if testing.Short() {
		t.Skip("plays minutes of driving")
	}
	for _, at := range []struct{ board, fault, suite string }{
		{"built-in", "wrong_wheelbase", "drive"},
		{"built-in", "yaw_sign", "drive"},
		{"built-in/moment", "sides_exchanged", "drive"},
	} {
		t.Run(at.fault, func(t *testing.T) {
			v := &campaign{}
			r, err := v.whole(t.Context(), filesOf(at.board+":"+at.fault, standards(t, standard.Life, at.suite)...), 1)
			require.NoError(t, err)
			known, want := rowsOf(t, at.board, at.fault, at.suite)
			played := &faults.Board{Name: at.board, Sound: known}
			played.Add(at.fault, r)
			assert.Equal(t, want, played.Faults[0].Unmet, makeAnew)
		})
	}
}

// rowsOf returns what the table has of a board without a fault, and with one, in a suite and the signs of life.
func rowsOf(t *testing.T, board, fault, suite string) (sound, unmet faults.Verdicts) {
	for _, b := range faults.Known().Boards {
		for _, f := range b.Faults {
			if b.Name != board || f.Name != fault {
				continue
			}
			sound, unmet = maps.Clone(b.Sound), maps.Clone(f.Unmet)
			for _, all := range []faults.Verdicts{sound, unmet} {
				maps.DeleteFunc(all, func(k faults.Key, _ string) bool { return k.Suite != suite && k.Suite != standard.Life })
			}
			return sound, unmet
		}
	}
	require.Fail(t, "no rows", "%s:%s", board, fault)
	return nil, nil
}

// oneTurn is a suite that goes by a standard name and takes little time.
var oneTurn = language.Source{Path: "standard/split.yaml", Data: []byte(`suite: one turn
about: One branch.
any_policy: yes
defaults: {speed: {near: 4 m/s}, steer: {near: 8 deg}, throttle: {room: 25 %}, gain: {shift: 12 %}, settle: 300 ms, observe: 300 ms}
cases:
  - case: turn
    hold: {yaw_rate: 40 % of demand}
    expect:
      - {policy: understeer}
`)}

func TestATableHasARowForEachFaultOfItsBoards(t *testing.T) {
	told := 0
	table, err := RunTable(t.Context(), []suites.Files{filesOf("built-in/moment", oneTurn)}, func(p Progress) {
		told++
		assert.Equal(t, 1+len(SeededInto("built-in/moment")), p.Boards)
	})
	require.NoError(t, err)
	assert.Positive(t, told)
	require.Len(t, table.Boards, 1)
	require.Len(t, table.Boards[0].Faults, len(SeededInto("built-in/moment")))
	failing := 0
	for i, f := range table.Boards[0].Faults {
		assert.Equal(t, SeededInto("built-in/moment")[i].Name, f.Name)
		if f.Name == "sides_exchanged" {
			for key, verdict := range f.Unmet {
				assert.Equal(t, "turn", key.Case)
				if verdict == record.Fail {
					failing++
				}
			}
		}
	}
	assert.Positive(t, failing)
	var out bytes.Buffer
	require.NoError(t, table.Write(&out))
	again, err := faults.Read(&out)
	require.NoError(t, err)
	assert.Equal(t, table, again)
}

func TestATableIsWholeOrNone(t *testing.T) {
	stopped, stop := context.WithCancel(t.Context())
	table, err := RunTable(stopped, []suites.Files{filesOf("built-in/moment", oneTurn)}, func(p Progress) {
		if p.Done > 0 {
			stop()
		}
	})
	assert.ErrorIs(t, err, context.Canceled)
	assert.Nil(t, table)

	wrong := oneTurn
	wrong.Data = bytes.Replace(wrong.Data, []byte("{policy: understeer}"), []byte("{motor: rear_left, range: [99 %, 100 %]}"), 1)
	_, err = RunTable(t.Context(), []suites.Files{filesOf("built-in/moment", wrong)}, nil)
	assert.EqualError(t, err, "built-in/moment without a fault is NO-GO and has to be GO; hilrig run --board built-in/moment shows why")
}

// askedNothing are the cases of which nothing is asked of a built-in board by its own policy and bench.
var askedNothing = map[string][]string{
	"built-in": {
		"no shift while braking", "the motors stay off until the throttle was let go", "the motors stay off while the car rolls",
		"receiver lost", "receiver out of reach", "receiver and yaw-rate sensor lost",
		"loop rate by the throttle",
		"demand from below", "demand from above", "demand beside with the front axle faster", "demand beside with the rear axle faster",
		"demand at its limit", "what has gathered goes back with the error",
		"derivative in swings", "steering fed forward in swings",
	},
	"built-in/moment": {
		"no shift while braking", "the motors stay off until the steering is there", "throttle lost", "steering lost", "gain trim lost",
		"gain trim lost at half", "throttle and yaw-rate sensor lost", "yaw-rate sensor frozen", "a spike, one frame too high", "a spike, one frame too low",
		"a steering pulse far too short", "a steering pulse far too long", "a throttle pulse far too short", "a throttle pulse far too long",
		"loop rate", "loop rate at speed", "a spin",
		"derivative in swings", "steering fed forward in swings",
	},
}

// The table has each case of the standard suites of which something is asked, and no other: what a suite has had since it was
// made would tell no fault from another.
func TestTheTableHasEachCase(t *testing.T) {
	for i, board := range Boards() {
		setup, err := suites.Load(filesOf(board, standards(t, append([]string{standard.Life}, standard.Names()...)...)...))
		require.NoError(t, err)
		known, planned := map[string]bool{}, map[string]bool{}
		for key := range faults.Known().Boards[i].Sound {
			known[key.Suite+": "+key.Case] = true
		}
		for _, s := range setup.Plan().Suites {
			for _, c := range s.Cases {
				if !slices.Contains(askedNothing[board], c.Name) {
					planned[strings.TrimSuffix(path.Base(s.File), ".yaml")+": "+c.Name] = true
				}
			}
		}
		assert.Equal(t, slices.Sorted(maps.Keys(planned)), slices.Sorted(maps.Keys(known)), "%s: %s", board, makeAnew)
	}
}
