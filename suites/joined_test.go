package suites

import (
	"bytes"
	"context"
	"flag"
	"os"
	"os/exec"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig/signal"
	"hilrig/suites/demo"
	"hilrig/suites/language"
)

var (
	otherBoard = flag.String("board-command", "", "a board in another process with which steps are joined and not")
	otherBench = flag.String("board-bench", "", "its bench file; empty: the demo's")
)

// What a board in another process does must not depend on how its time is cut into steps. Python's is the example; another, as
// machine code on an emulated chip, is given by the flags.
func TestStepsThatAreJoinedChangeNothing(t *testing.T) {
	if _, err := exec.LookPath("python3"); err != nil && *otherBoard == "" && os.Getenv("CI") != "true" {
		t.Skip("python3 is not there")
	}
	files := Files{
		Car: language.Source{Path: demo.CarPath, Data: demo.CarYAML}, Bench: language.Source{Path: demo.BenchPath, Data: bytes.Replace(demo.BenchYAML, []byte("ready_after: 3 s"), []byte("ready_after: 300 ms"), 1)},
		Suites: []language.Source{{Path: "joined.yaml", Data: []byte(`suite: joined
defaults: {speed: 4 m/s, steer: 8 deg, throttle: 40 %, gain: 50 %, settle: 200 ms, observe: 100 ms}
cases:
  - case: open
    hold: {yaw_rate: 70 % of demand}
    expect: [{policy: understeer}]
  - case: broken
    hold: {throttle: 25 %, faults: [{wire: throttle, is: lost}, {wire: yaw_serial, is: jitter, by: 3 us, after: 50 ms, for: 50 ms}]}
    expect: [{motor: all, range: [0 %, 1 %]}]
  - case: closed
    closed: yes
    hold: {}
    expect: [{motor: all, range: [0 %, 100 %]}]
`)}},
		Command: &BoardCommand{Text: "python3 ../rig/board/examples/python/board.py"},
	}
	if *otherBoard != "" {
		files.Command.Text = *otherBoard
	}
	if *otherBench != "" {
		data, err := os.ReadFile(*otherBench)
		require.NoError(t, err)
		files.Bench = language.Source{Path: *otherBench, Data: data}
	}
	var digests [2]string
	for i, ahead := range []signal.Time{0, boardAhead} {
		s, err := Load(files)
		require.NoError(t, err)
		s.ahead = ahead
		result, _, err := s.Run(context.Background(), Options{})
		require.NoError(t, err)
		for _, c := range result.Suites[0].Cases {
			assert.NotEmpty(t, c.Trace, c.Name)
			digests[i] += c.Trace + " "
		}
	}
	assert.Equal(t, digests[0], digests[1])
}
