package campaign

import (
	"bytes"
	"context"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/suites"
	"hilrig/suites/demo"
	"hilrig/suites/language"
	"hilrig/suites/record"
	"hilrig/suites/report/faults"
)

// filesOf returns what plays suites to a built-in board with its own car and bench.
func filesOf(board string, suite ...language.Source) suites.Files {
	own := demo.Of(board)
	return suites.Files{
		Car: language.Source{Path: own.CarPath, Data: own.Car}, Bench: language.Source{Path: own.BenchPath, Data: own.Bench},
		Board: board, Seed: 1, Suites: suite, Read: func(string) ([]byte, error) { return demo.LogCSV, nil },
	}
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
