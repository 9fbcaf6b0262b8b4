package assertions

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/plant"
	"hilrig/rig/signal"
	"hilrig/rig/trace"
	"hilrig/stimulus"
)

// standing returns evidence of a step from 100 to 500 ms, its window from 200 ms, in which
// throttle pulses of every 10 ms say 0.4 and each motor sends a command every 4 ms.
func standing() *Evidence {
	e := slowly()
	e.Steps[0].Moving = false
	e.Steps[0].Name = "hold"
	for i := range 40 {
		at := (100 + signal.Time(10*i)) * ms
		e.Trace.Sent[trace.SentThrottle] = append(e.Trace.Sent[trace.SentThrottle], trace.Sent{Start: at, End: at + ms, Value: 0.4})
	}
	for w := range e.Trace.Motor {
		for i := range 100 {
			at := (100 + signal.Time(4*i)) * ms
			e.Trace.Motor[w].Frames = append(e.Trace.Motor[w].Frames, trace.Frame{Start: at - 1, End: at})
		}
	}
	return e
}

// TestWhatLatenessMayHaveMovedIsLeftOut takes a window of 75 commands, of which one
// disturbance takes those of the next 50 ms.
func TestWhatLatenessMayHaveMovedIsLeftOut(t *testing.T) {
	late := func(from, to signal.Time) func(*Evidence) {
		return func(e *Evidence) {
			e.Trace.Delays = append(e.Trace.Delays, trace.Delay{From: from, To: to, Worst: ms})
		}
	}
	distorted := func(i int, value float64) func(*Evidence) {
		return func(e *Evidence) {
			e.Trace.Delays = append(e.Trace.Delays, trace.Delay{From: 300 * ms, To: 301 * ms, Worst: 20 * signal.Microsecond})
			e.Trace.Sent[trace.SentThrottle][i].Value = value
		}
	}
	for _, c := range []struct {
		name    string
		wrong   func(*Evidence)
		left    int
		decided bool
	}{
		{"in time", func(*Evidence) {}, 0, true},
		{"late once", late(300*ms, 302*ms), 16, true}, // 300, 304 ... 360 ms
		{"late twice, together", func(e *Evidence) { late(300*ms, 302*ms)(e); late(320*ms, 322*ms)(e) }, 21, true},
		{"late for long", late(200*ms, 408*ms), 68, false}, // 200 ... 468 ms
		{"late before the window", late(170*ms, 171*ms), 8, true},
		{"late before that", late(130*ms, 131*ms), 0, true},
		{"late by much before that", func(e *Evidence) {
			e.Trace.Delays = []trace.Delay{{From: 110 * ms, To: 130 * ms, Worst: 20 * ms}}
		}, 46, true}, // to 380 ms
		{"late after it", late(501*ms, 502*ms), 0, true},
		{"a distorted pulse", distorted(20, 0.42), 13, true}, // to 301 ms, which leaves out 300 ... 348
		{"the other way", distorted(20, 0.38), 13, true},
		{"within what is borne", distorted(20, 0.404), 0, true},
		{"a pulse that nobody saw end", func(e *Evidence) {
			distorted(20, 0.402)(e)
			e.Trace.Sent[trace.SentThrottle][20].ValueUncertainty = 0.004
		}, 13, true},
		{"before the window", distorted(5, 0.42), 1, true}, // to 151 ms, which leaves out 200
		{"meant to be so", func(e *Evidence) {
			distorted(20, 0.42)(e)
			e.Steps[0].Faults = []stimulus.Fault{{Kind: stimulus.Noisy, Wire: "throttle"}}
		}, 0, true},
	} {
		t.Run(c.name, func(t *testing.T) {
			e := standing()
			c.wrong(e)
			got := Judge(fixed{{Verdict: Pass, Step: "hold"}}, e)
			assert.Len(t, e.frames(plant.RearLeft, &e.Steps[0]), 75-c.left)
			assert.Len(t, e.allFrames(plant.RearLeft, &e.Steps[0]), 75)
			assert.Equal(t, c.decided, got[0].Verdict == Pass)
			if c.decided {
				assert.Equal(t, c.left, got[0].LeftOut)
			} else {
				assert.Contains(t, got[0].Why, "1 ms late at 0.2 s, more than 100 us, which leaves 7 of 75 commands")
			}
		})
	}
}

// A command that is missing would be missed where the stimulus does not stand still.
func TestNothingIsLeftOutOfStepsThatMove(t *testing.T) {
	for name, change := range map[string]func(e *Evidence){
		"moving":            func(e *Evidence) { e.Steps[0].Moving = true },
		"swept":             func(e *Evidence) { e.Steps[0].Swept = true },
		"trials":            func(e *Evidence) { e.Steps[0].Changes = []signal.Time{250 * ms} },
		"a spike":           func(e *Evidence) { e.Steps[0].Faults = []stimulus.Fault{{Kind: stimulus.Spike}} },
		"power-up":          func(e *Evidence) { e.Steps[0].PowerUp = true },
		"closed loop":       func(e *Evidence) { e.Release = 10 * ms },
		"behind a power-up": func(e *Evidence) { e.Steps = append([]Step{{PowerUp: true}}, e.Steps...) },
	} {
		t.Run(name, func(t *testing.T) {
			e := standing()
			e.Trace.Delays = []trace.Delay{{From: 300 * ms, To: 302 * ms, Worst: ms}}
			change(e)
			s := &e.Steps[len(e.Steps)-1]
			require.Len(t, e.frames(plant.FrontLeft, s), 75)
			got := Judge(fixed{{Verdict: Pass, Step: "hold"}, {Verdict: Fail, screened: true}}, e)
			assert.Equal(t, Undecided, got[0].Verdict)
			assert.Equal(t, Fail, got[1].Verdict)
		})
	}
}
