package assertions_test

import (
	"maps"
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/assertions"
	"hilrig/assertions/law"
	"hilrig/plant"
	"hilrig/rig/signal"
	"hilrig/rig/trace"
)

// everyCheck lists every kind of check, and of the policy's every situation, on a step.
func everyCheck(step string) []assertions.Check {
	all := allChecks()
	for _, of := range assertions.Situations {
		all = append(all, assertions.PolicyBranch{Of: of, Step: step})
	}
	for _, measure := range assertions.Measures {
		all = append(all, assertions.Measured{Measure: measure, AtMost: new(1.0), Step: step}, assertions.Measured{Measure: measure, BetterThan: "off", Step: step})
	}
	return all
}

// TestWhatMeasuredNothingHoldsNoNumber judges every check on cases that hold nothing to
// be measured: none may come to an estimate, and each says why.
func TestWhatMeasuredNothingHoldsNoNumber(t *testing.T) {
	names := slices.Sorted(maps.Keys(faultCases))
	names = append(names, slices.Sorted(maps.Keys(lineCases))...)
	for _, of := range names {
		tp := tape{firmware: newFirmware(linePolicy(of), asDeclared), ramps: ramps}
		played := tp.play(append(faultCases[of], lineCases[of]...)...)
		bare := func(change func(*trace.Trace)) *assertions.Evidence {
			e := *played
			tr := *played.Trace
			e.Trace = &tr
			for w := range tr.Motor {
				tr.Motor[w] = trace.Output{}
			}
			change(&tr)
			return &e
		}
		for name, e := range map[string]*assertions.Evidence{
			"a policy alone":       {Policy: played.Policy},
			"no policy":            {},
			"steps without traces": {Policy: played.Policy, Steps: played.Steps},
			"an empty trace":       {Policy: played.Policy, Steps: played.Steps, Trace: &trace.Trace{Tick: played.Trace.Tick}},
			"no frames":            bare(func(*trace.Trace) {}),
			"all left open by the sampler": bare(func(tr *trace.Trace) {
				for w := range tr.Motor {
					for _, f := range played.Trace.Motor[w].Frames {
						tr.Motor[w].Events = append(tr.Motor[w].Events, trace.Event{At: f.End, Kind: trace.Uncertain})
					}
				}
			}),
		} {
			for _, s := range played.Steps {
				for _, c := range everyCheck(s.Name) {
					results := assertions.Judge(c, e)
					require.NotEmpty(t, results)
					for _, r := range results {
						m, ok := r.Measurement()
						assert.False(t, ok, "%s, %s: %#v measured %+v", of, name, c, m)
						assert.Equal(t, assertions.Measurement{}, m)
						assert.NotEmpty(t, r.Why, "%s, %s: %#v", of, name, c)
						assert.NotEqual(t, assertions.Pass, r.Verdict, "%s, %s: %#v", of, name, c)
					}
				}
			}
		}
	}
}

// TestSilenceIsTheBoardsWhereTheRigCouldRead has one motor of which no command was read in
// the window of the hold.
func TestSilenceIsTheBoardsWhereTheRigCouldRead(t *testing.T) {
	const w = plant.RearLeft
	for _, tt := range []struct {
		name    string
		change  func(tr *trace.Trace, hold *assertions.Step)
		verdict assertions.Verdict
		why     string
	}{
		{"nothing came", func(*trace.Trace, *assertions.Step) {}, assertions.Fail, "motor_rear_left sent no command in the window"},
		{"a command was left open", func(tr *trace.Trace, hold *assertions.Step) {
			tr.Motor[w].Events = append(tr.Motor[w].Events, trace.Event{At: hold.From, Kind: trace.Uncertain})
		}, assertions.Undecided, "the sampler left open all 1 commands of motor_rear_left in the window; play it on a machine that keeps time"},
		{"one was left open before the window", func(tr *trace.Trace, hold *assertions.Step) {
			tr.Motor[w].Events = append(tr.Motor[w].Events, trace.Event{At: hold.From - 1, Kind: trace.Uncertain})
		}, assertions.Fail, "sent no command"},
		{"the sampler did not look", func(tr *trace.Trace, hold *assertions.Step) {
			tr.NotSampled = append(tr.NotSampled, trace.Span{From: hold.From - signal.Second, To: hold.To - 100*signal.Millisecond})
		}, assertions.Undecided, "the sampler did not look for 300 ms of the window's 400 ms, and saw no command of motor_rear_left"},
		{"it did not look for a moment", func(tr *trace.Trace, hold *assertions.Step) {
			tr.NotSampled = append(tr.NotSampled, trace.Span{From: hold.From, To: hold.From + signal.Millisecond})
		}, assertions.Fail, "sent no command"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			e := bench{board: good, policy: policy()}.play(onDemand(1), held(1, 0.7))
			hold := &e.Steps[1]
			e.Trace.Motor[w].Frames = slices.DeleteFunc(e.Trace.Motor[w].Frames, func(f trace.Frame) bool { return f.End >= hold.From })
			tt.change(e.Trace, hold)
			for name, r := range map[string]assertions.Result{
				"shift": assertions.Judge(assertions.Shifted{Motors: []law.Corner{"rear_left"}, Is: assertions.Unchanged}, e)[0],
				"jump":  assertions.Judge(assertions.NoJump{Motors: []law.Corner{"rear_left"}, Most: 1}, e)[0],
				"range": assertions.Judge(assertions.InRange{Motors: []law.Corner{"rear_left"}, High: 1}, e)[0],
			} {
				assert.Equal(t, tt.verdict, r.Verdict, name)
				assert.Contains(t, r.Why, tt.why, name)
				assert.False(t, r.Measured(), name)
			}
		})
	}
}

// Few commands are not none.
func TestFewCommandsAreReportedAsFew(t *testing.T) {
	e := bench{board: good, policy: policy()}.play(onDemand(1), held(1, 0.7))
	hold := &e.Steps[1]
	for w := range e.Trace.Motor {
		frames := e.Trace.Motor[w].Frames
		kept := e.Trace.Motor[w].Between(hold.From, hold.To)[:2]
		e.Trace.Motor[w].Frames = append(slices.DeleteFunc(slices.Clone(frames), func(f trace.Frame) bool { return f.End >= hold.From }), kept...)
	}
	for _, c := range []assertions.Check{assertions.NoJump{Motors: []law.Corner{"rear_left"}, Most: 1}, assertions.Shifted{Motors: []law.Corner{"rear_left"}, Is: assertions.Unchanged}} {
		r := assertions.Judge(c, e)[0]
		assert.Equal(t, assertions.Undecided, r.Verdict)
		assert.Contains(t, r.Why, "400 ms brought 2 commands of motor_rear_left, and it takes 3")
	}
}

// A spike after which no command ended in time is told as that, and not as a motor's
// command of no number some time before the spike.
func TestASpikeWithoutCommandsAfterItMeasuresNothing(t *testing.T) {
	tp := tape{firmware: newFirmware(lossPolicy(), asDeclared), ramps: ramps}
	e := tp.play(faultCases["spike"]...)
	s := &e.Steps[2]
	require.NotEmpty(t, s.Faults)
	carried := slices.IndexFunc(e.Trace.Sent[trace.SentYawRate], func(x trace.Sent) bool {
		return x.Start >= s.Faults[0].From && math.Abs(x.Value-s.YawRate) >= math.Abs(s.Faults[0].By)/2
	})
	require.Positive(t, carried)
	s.To = e.Trace.Sent[trace.SentYawRate][carried].End + 1
	r := assertions.Judge(assertions.PolicyBranch{Of: "spike", Step: s.Name}, e)[0]
	assert.Equal(t, assertions.Undecided, r.Verdict)
	assert.False(t, r.Measured())
	assert.NotRegexp(t, negativeTime, r.Why)
	assert.NotContains(t, r.Why, "NaN")
}
