package report

import (
	"bytes"
	"errors"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig/signal"
)

func layout() signal.Layout {
	return signal.Layout{Lines: []signal.LineSpec{
		{Name: "steer", Role: signal.SteerPulse}, {Name: "yaw_serial", Idle: true, Role: signal.SerialData}, {Name: "motor_front_left", Direction: signal.Capture, Role: signal.Motor, Wheel: signal.FrontLeft},
	}}
}

// The keywords and their order are those of IEEE 1364-2005 clause 18; scalar
// values stand before their identifier without a space.
func TestVCD(t *testing.T) {
	w := Watch(layout())
	w.Add([]signal.Edge{{At: 500, Line: 0, Level: true}}, nil)
	w.Begin(1000)
	w.Add(
		[]signal.Edge{{At: 1000, Line: 1}, {At: 2449, Line: 1, Level: true}, {At: 2450, Line: 0}},
		[]signal.Edge{{At: 2440, Line: 2, Level: true}, {At: 9999, Line: 2, Level: true}},
	)
	w.To = 11000
	var out bytes.Buffer
	require.NoError(t, w.VCD(&out, "case $end x"))
	assert.Equal(t, `$comment case end x $end
$timescale 100 ns $end
$scope module bench $end
$var wire 1 ! steer $end
$var wire 1 " yaw_serial $end
$var wire 1 # motor_front_left $end
$upscope $end
$enddefinitions $end
#0
$dumpvars
1!
1"
0#
$end
0"
#14
1#
1"
#15
0!
#100
`, out.String())
}

func TestIdentifiersAreShortAndDiffer(t *testing.T) {
	seen := map[string]bool{}
	for i := range 20000 {
		id := identifier(i)
		require.False(t, seen[id], "%d and another are %q", i, id)
		seen[id] = true
		for _, c := range id {
			require.True(t, c >= '!' && c <= '~')
		}
	}
	assert.Len(t, identifier(93), 1)
	assert.LessOrEqual(t, len(identifier(19999)), 3)
}

type full struct{}

func (full) Write([]byte) (int, error) { return 0, errors.New("disk full") }

func TestVCDReportsWhatItCannotWrite(t *testing.T) {
	w := Watch(layout())
	assert.ErrorContains(t, w.VCD(full{}, ""), "disk full")
}
