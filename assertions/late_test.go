package assertions

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"hilrig/assertions/law"
	"hilrig/rig/signal"
	"hilrig/rig/trace"
)

const ms = signal.Millisecond

// fixed is a check that always gives these results.
type fixed []Result

func (f fixed) judge(*Evidence) []Result { return append([]Result(nil), f...) }

// slowly returns evidence of a step from 100 to 500 ms with a moving stimulus, in which
// the rig was late.
func slowly(d ...trace.Delay) *Evidence {
	return &Evidence{Policy: &law.Policy{}, Trace: &trace.Trace{Delays: d}, Steps: []Step{{Applied: 100 * ms, From: 200 * ms, To: 500 * ms, Moving: true}}}
}

func TestWhatTheRigPlayedLateDecidesNothing(t *testing.T) {
	inside := trace.Delay{From: 300 * ms, To: 301 * ms, Worst: 200_000}
	for _, c := range []struct {
		name string
		e    *Evidence
		late bool
	}{
		{"in time", slowly(), false},
		{"late", slowly(inside), true},
		{"late by what the checks bear", slowly(trace.Delay{From: 300 * ms, To: 301 * ms, Worst: 100_000}), false},
		{"late before the case", slowly(trace.Delay{From: 90 * ms, To: 91 * ms, Worst: ms}), false},
		{"late after it", slowly(trace.Delay{From: 501 * ms, To: 502 * ms, Worst: ms}), false},
		{"late in a repeat", &Evidence{Policy: &law.Policy{}, Trace: &trace.Trace{}, Steps: slowly().Steps, Repeats: []*Evidence{slowly(inside)}}, true},
		{"late with the shift off", &Evidence{Policy: &law.Policy{}, Trace: &trace.Trace{}, Steps: slowly().Steps, Off: slowly(inside)}, true},
	} {
		t.Run(c.name, func(t *testing.T) {
			got := Judge(fixed{{Verdict: Pass}, {Verdict: Fail}, {Verdict: NotAsked}, {Verdict: Fail, screened: true}}, c.e)
			first := []Verdict{got[0].Verdict, got[1].Verdict}
			if c.late {
				assert.Equal(t, []Verdict{Undecided, Undecided}, first)
				assert.Contains(t, got[0].Why, "200 us late at 0.3 s, more than 100 us")
			} else {
				assert.Equal(t, []Verdict{Pass, Fail}, first)
			}
			assert.Equal(t, NotAsked, got[2].Verdict)
			assert.Equal(t, Fail, got[3].Verdict, "it rests on what was played in time")
		})
	}
}

func TestLateBoundIsAShareOfTheResponse(t *testing.T) {
	e := slowly(trace.Delay{From: 300 * ms, To: 301 * ms, Worst: 110_000})
	why, _ := e.Invalidated()
	assert.NotEmpty(t, why)
	e.Policy.Response = &law.Response{AtMost: 12 * ms, Quantile: 0.95}
	why, _ = e.Invalidated()
	assert.Empty(t, why, "0.12 ms of 12 ms")
}

// TestUnseenFrames draws nothing: frames every 3 ms, the fourth missing.
func TestUnseenFrames(t *testing.T) {
	frames := func(at ...signal.Time) (out []trace.Frame) {
		for _, x := range at {
			out = append(out, trace.Frame{Start: x * ms, End: x*ms + ms})
		}
		return out
	}
	e := slowly()
	e.Trace.Motor[2].Frames = frames(0, 3, 6, 12, 15, 18, 21)
	assert.False(t, e.Unseen(2)(3), "the sampler looked: the board left it out")
	e.Trace.NotSampled = []trace.Span{{From: 4500 * 1000, To: 4600 * 1000}, {From: 9 * ms, To: 9*ms + 300_000}}
	assert.Equal(t, 3*ms, e.spacing(2))
	assert.True(t, e.Unseen(2)(3))
	assert.False(t, e.Unseen(2)(2), "blind, but no frame is missing")
	assert.False(t, e.Unseen(2)(0))
	f := trace.Frame{Start: 9 * ms, End: 10 * ms}
	assert.True(t, e.missed(2, f, e.Trace.Motor[2].Frames[3], 3*ms))
	assert.False(t, e.missed(2, trace.Frame{Start: 6 * ms}, e.Trace.Motor[2].Frames[2], 3*ms))
}

// captured returns evidence of a step from 100 to 500 ms with commands of one motor, every
// so many-th left open by the sampler.
func captured(open int) *Evidence {
	e := slowly()
	for i := range 100 {
		at := (100 + signal.Time(4*i)) * ms
		if i%10 < open {
			e.Trace.Motor[2].Events = append(e.Trace.Motor[2].Events, trace.Event{At: at, Kind: trace.Uncertain})
		} else {
			e.Trace.Motor[2].Frames = append(e.Trace.Motor[2].Frames, trace.Frame{Start: at - 1, End: at})
		}
	}
	return e
}

func TestWhatTheSamplerLeftOpenDecidesNothing(t *testing.T) {
	for _, c := range []struct {
		name string
		e    *Evidence
		why  string
	}{
		{"all seen", captured(0), ""},
		{"less than half left open", captured(4), ""},
		{"more than half", captured(6), "left open 60 of 100 commands of motor_rear_left"},
		{"all", captured(10), "left open 100 of 100 commands of motor_rear_left"},
		{"more than half without a board", &Evidence{Trace: &trace.Trace{}, Steps: slowly().Steps, NoBoard: captured(6)}, "60 of 100"},
	} {
		t.Run(c.name, func(t *testing.T) {
			got := Judge(fixed{{Verdict: Fail}, {Verdict: NotAsked}, {Verdict: Pass, screened: true}}, c.e)
			assert.Equal(t, NotAsked, got[1].Verdict)
			if c.why == "" {
				assert.Equal(t, []Verdict{Fail, Pass}, []Verdict{got[0].Verdict, got[2].Verdict})
				return
			}
			assert.Equal(t, []Verdict{Undecided, Undecided}, []Verdict{got[0].Verdict, got[2].Verdict})
			assert.Contains(t, got[0].Why, c.why)
		})
	}
}
