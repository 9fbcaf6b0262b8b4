package assertions_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/assertions"
	"hilrig/assertions/law"
	"hilrig/plant"
	"hilrig/rig/trace"
)

// A motor that was told to stop where commands were expected is silent, and how
// the owner may have it otherwise is said.
func TestStopsAreReported(t *testing.T) {
	e := bench{board: equal, policy: policy(), spread: 0.0005}.play(held(1, 0.5))
	check := assertions.InRange{Motors: law.Corners[:1], Low: 0, High: 1}
	require.Equal(t, assertions.Pass, assertions.Worst(assertions.Judge(check, e)))
	o := &e.Trace.Motor[plant.FrontLeft]
	s := e.Steps[len(e.Steps)-1]
	for _, f := range o.Frames {
		o.Events = append(o.Events, trace.Event{At: f.End, Kind: trace.Stop})
	}
	n := len(o.Between(s.From, s.To))
	o.Frames = nil
	r := assertions.Judge(check, e)[0]
	assert.Equal(t, assertions.Fail, r.Verdict)
	assert.Contains(t, r.Why, "sent no command in the window, but ")
	assert.Contains(t, r.Why, "frames that stop the motor; if they stand for 0 %, add stop_is_idle: yes")
	assert.NotZero(t, n)
}
