package assertions_test

import (
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/assertions"
	"hilrig/plant"
	"hilrig/rig/signal"
	"hilrig/rig/trace"
)

// throttled returns trials of the throttle on a board that sends each motor what the throttle was a time ago, and at
// the rate that the throttle goes by, share of range per frame; 0: at once.
func throttled(late [4]signal.Time, slew float64) *assertions.Evidence {
	random := rand.New(rand.NewPCG(1, 15))
	p := policy()
	p.OutputsTogether = new(500 * signal.Microsecond)
	s := assertions.Step{Name: "trials", Changed: trace.Throttle, Levels: [2]float64{0.3, 0.5}, From: signal.Second, Speed: 3, Throttle: 0.3}
	tr := &trace.Trace{Tick: signal.Millisecond}
	at, pulse, level := s.From, s.From-200*signal.Millisecond, 0.3
	for i := range 60 {
		at += 60*signal.Millisecond + signal.Time(random.Int64N(int64(50*signal.Millisecond)))
		for ; pulse < at; pulse += 10 * signal.Millisecond {
			tr.Sent[trace.SentThrottle] = append(tr.Sent[trace.SentThrottle], trace.Sent{Start: pulse, End: pulse + signal.Millisecond, Value: level})
		}
		s.Changes = append(s.Changes, at)
		level = s.Levels[(i+1)%2]
	}
	s.To = at
	sent := tr.Sent[trace.SentThrottle]
	for _, w := range plant.Wheels {
		value, k := 0.3, 0
		for t := s.From - 100*signal.Millisecond; t < s.To; t += 3 * signal.Millisecond {
			for k+1 < len(sent) && sent[k+1].End <= t-late[w] {
				k++
			}
			if value = sent[k].Value; slew > 0 {
				last := 0.3
				if n := len(tr.Motor[w].Frames); n > 0 {
					last = tr.Motor[w].Frames[n-1].Value
				}
				value = min(max(value, last-slew), last+slew)
			}
			tr.Motor[w].Frames = append(tr.Motor[w].Frames, trace.Frame{Start: t, End: t + 1500*signal.Microsecond, Value: value})
		}
	}
	return &assertions.Evidence{Trace: tr, Policy: p, Steps: []assertions.Step{s}, CommandStep: 0.001}
}

func TestChangesOfTheThrottleComeTogether(t *testing.T) {
	for _, tt := range []struct {
		name string
		late [4]signal.Time
		slew float64
		want assertions.Verdict
	}{
		{"at once", [4]signal.Time{}, 0, assertions.Pass},
		{"all late", [4]signal.Time{8e6, 8e6, 8e6, 8e6}, 0, assertions.Pass},
		{"all slowly", [4]signal.Time{}, 0.03, assertions.Pass},
		{"the rear a frame late", [4]signal.Time{0, 0, 3e6, 3e6}, 0, assertions.Fail},
		{"the rear late and all slowly", [4]signal.Time{0, 0, 4e6, 4e6}, 0.03, assertions.Fail},
		{"one very late", [4]signal.Time{0, 12e6, 0, 0}, 0, assertions.Fail},
	} {
		t.Run(tt.name, func(t *testing.T) {
			results := assertions.Judge(assertions.PolicyBranch{Of: "outputs_together"}, throttled(tt.late, tt.slew))
			require.Len(t, results, 1)
			assert.Equal(t, tt.want, results[0].Verdict, results[0].Why)
			assert.Equal(t, "outputs together: changes within 500 us", results[0].Name)
			if tt.want == assertions.Fail {
				assert.Contains(t, results[0].Why, "comes to one motor later than to another")
			}
		})
	}
}

// Without a change that moves all motors there is nothing to tell.
func TestChangesThatMoveNotAllMotorsShowNothing(t *testing.T) {
	e := throttled([4]signal.Time{}, 0)
	for i := range e.Trace.Motor[plant.RearLeft].Frames {
		e.Trace.Motor[plant.RearLeft].Frames[i].Value = 0.3
	}
	r := assertions.Judge(assertions.PolicyBranch{Of: "outputs_together"}, e)[0]
	assert.Equal(t, assertions.Undecided, r.Verdict)
	assert.Contains(t, r.Why, "does not plainly move")
	e.Steps[0].Changed = trace.Gain
	assert.Equal(t, assertions.NotAsked, assertions.Judge(assertions.PolicyBranch{Of: "outputs_together"}, e)[0].Verdict)
}
