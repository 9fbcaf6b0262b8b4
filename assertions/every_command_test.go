package assertions_test

import (
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
	"hilrig/stimulus"
)

// everyCommand returns what is asked of each command of a case.
func everyCommand(t *testing.T, e *assertions.Evidence) assertions.Result {
	t.Helper()
	results := assertions.Throughout(e)
	i := slices.IndexFunc(results, func(r assertions.Result) bool { return r.Name == assertions.EveryCommand })
	require.GreaterOrEqual(t, i, 0)
	return results[i]
}

// commanded plays a case to a firmware and fills in the speed, which the tape leaves out.
func commanded(p *law.Policy, steps ...assertions.Step) *assertions.Evidence {
	e := (&tape{firmware: newFirmware(p, nil)}).play(steps...)
	for t := e.Trace.Start; t < e.Steps[len(e.Steps)-1].To; t += ms {
		e.Trace.Column[trace.Speed] = append(e.Trace.Column[trace.Speed], playedAt(e, t).Speed)
	}
	return e
}

// change changes a motor's commands that ended in [from, to) after a step was applied.
func change(step int, w plant.Wheel, from, to signal.Time, by func(f *trace.Frame)) func(e *assertions.Evidence) {
	return func(e *assertions.Evidence) {
		at := e.Steps[step].Applied
		for i := range e.Trace.Motor[w].Frames {
			if f := &e.Trace.Motor[w].Frames[i]; f.End >= at+from && f.End < at+to {
				by(f)
			}
		}
	}
}

// gathersTo returns what declares a shift that grows with time by up to 20 %, between a floor and a cap.
func gathersTo(floor, cap float64) func(p *law.Policy) {
	return func(p *law.Policy) {
		p.ShiftAt.Grows, p.ShiftAt.Most = law.GrowthIntegrating, 0.2
		p.Floor, p.Cap = &floor, &law.Cap{Of: cap, SteerAbove: 2 * deg}
	}
}

// Each single command of a case is held to the policy, between the holds too.
func TestEveryCommandOfACase(t *testing.T) {
	const w = plant.RearLeft
	full := func(f *trace.Frame) { f.Value = 1 }
	higher := func(f *trace.Frame) { f.Value += 0.04 }
	yawLost := under(stretch(titled("lost", held(1, 0.5)), 0, 300*ms), stimulus.Fault{Kind: stimulus.Lost, Wire: "yaw_serial"})
	late := func(e *assertions.Evidence) {
		at := e.Steps[1].Applied
		e.Trace.Delays = []trace.Delay{{From: at + 90*ms, To: at + 160*ms, Worst: 20 * ms}}
	}
	none := func(*assertions.Evidence) {}
	tests := []struct {
		name    string
		policy  func(p *law.Policy)
		corrupt func(e *assertions.Evidence)
		want    assertions.Verdict
		why     string
	}{
		{"well", nil, none, assertions.Pass, ""},
		{"full throttle for 50 ms while nothing is judged", nil, change(1, w, 100*ms, 150*ms, full), assertions.Fail, "rear_left was commanded to 100 % at 1.6"},
		{"one single command", nil, change(1, w, 150*ms, 153*ms, full), assertions.Fail, "rear_left was commanded to 100 %"},
		{"a shift of a motor that is to stay, for 30 ms", nil, change(1, w, 150*ms, 180*ms, higher), assertions.Fail, "of what went out in the"},
		{"the other motor's shift as it begins", nil, change(1, plant.FrontRight, 20*ms, 50*ms, higher), assertions.Fail, "front_right"},
		{"what the policy leaves open", func(p *law.Policy) { p.MotorsEqualWithin, p.Resolution = new(0.1), new(0.1) }, change(1, w, 150*ms, 180*ms, higher), assertions.Pass, ""},
		{"before a loss is noticed", nil, change(2, w, 20*ms, 30*ms, full), assertions.Fail, "rear_left was commanded to 100 % at 2.0"},
		{"in a loss that the policy does not speak of", func(p *law.Policy) { p.YawLost = nil }, change(2, w, 50*ms, 100*ms, full), assertions.Pass, ""},
		{"while the rig was late", nil, func(e *assertions.Evidence) { late(e); change(1, w, 110*ms, 150*ms, full)(e) }, assertions.Pass, ""},
		{"known too badly", nil, change(1, w, 150*ms, 153*ms, func(f *trace.Frame) { f.Value, f.Uncertainty = f.Value+0.04, 0.03 }), assertions.Undecided, "known to ±3 % only"},
		{"below the floor", gathersTo(0.3, 0.92), change(1, plant.FrontLeft, 150*ms, 180*ms, func(f *trace.Frame) { f.Value = 0.2 }), assertions.Fail, ", for its floor is 30 %"},
		{"above the cap", gathersTo(0, 0.5), change(1, plant.RearRight, 150*ms, 180*ms, func(f *trace.Frame) { f.Value = 0.55 }), assertions.Fail, ", for its cap is 50 %"},
		{"below what is shifted, the floor far from there", gathersTo(0, 0.92), change(1, plant.FrontLeft, 150*ms, 180*ms, func(f *trace.Frame) { f.Value = 0.1 }), assertions.Fail, " to 62.2 %; so are"},
		{"no number", nil, change(1, w, 150*ms, 153*ms, func(f *trace.Frame) { f.Value = math.NaN() }), assertions.Undecided, "is no number"},
		{"a slow answer of a board of which no response is declared", func(p *law.Policy) { p.Response = nil }, change(1, plant.RearRight, 0, 200*ms, func(f *trace.Frame) { f.Value = 0.4 }), assertions.Pass, ""},
		{"a slow answer", nil, change(1, plant.RearRight, 0, 200*ms, func(f *trace.Frame) { f.Value = 0.4 }), assertions.Fail, "rear_right was commanded to 40 %"},
		{"motors that stand elsewhere, of a board of which no curve is declared", func(p *law.Policy) { p.ThrottleCurve = 0 }, func(e *assertions.Evidence) {
			for _, w := range plant.Wheels {
				change(0, w, 0, 2*signal.Second, func(f *trace.Frame) { f.Value += 0.05 })(e)
			}
		}, assertions.Pass, ""},
		{"a burst of such a board", func(p *law.Policy) { p.ThrottleCurve = 0 }, change(1, w, 100*ms, 150*ms, full), assertions.Fail, "rear_left"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			p := lossPolicy()
			p.Straight, p.ThrottleCurve, p.ShiftAt.Within = nil, law.ThrottleCurveNone, 0.1
			if tt.policy != nil {
				tt.policy(p)
			}
			e := commanded(p, base(), before(), yawLost)
			tt.corrupt(e)
			r := everyCommand(t, e)
			assert.Equal(t, tt.want, r.Verdict, "%+v", r)
			assert.Contains(t, r.Why, tt.why)
		})
	}
}

// Traction control that compares the last readings of wheels which stand may have cut motors in the baseline, and leave
// them alone later; and the other way round.
func TestTractionControlAtAStandstillMayCutAndLeaveAlone(t *testing.T) {
	still := func(s assertions.Step) assertions.Step {
		return with(s, func(s *assertions.Step) { s.Speed, s.YawRate, s.Demand = 0, 0, 0 })
	}
	judged := func(share *float64, step int) assertions.Verdict {
		p := lossPolicy()
		p.TractionControl, p.ThrottleCurve = share, 0
		e := commanded(p, still(base()), still(before()))
		e.Car = &plant.Car{FrontAxle: 0.14, RearAxle: 0.19, FrontTrack: 0.1, RearTrack: 0.1, WheelRadius: 0.05}
		change(step, plant.RearLeft, 0, e.Steps[step].To-e.Steps[step].Applied, func(f *trace.Frame) { f.Value /= 2 })(e)
		return everyCommand(t, e).Verdict
	}
	for step := range 2 {
		assert.Equal(t, assertions.Fail, judged(nil, step), "step %d", step)
		assert.Equal(t, assertions.Pass, judged(new(0.2), step), "step %d", step)
	}
}

// Motors that together stand at the cap of their sum in the baseline may be meant to stand higher, and do so where
// another is lowered or cut.
func TestMotorsCutForTheirSumMayBeMeantHigher(t *testing.T) {
	judged := func(most float64, share *float64) assertions.Verdict {
		p := lossPolicy()
		p.SumCap, p.TractionControl, p.ThrottleCurve = &most, share, 0
		e := commanded(p, base(), before())
		e.Car = &plant.Car{FrontAxle: 0.14, RearAxle: 0.19, FrontTrack: 0.3, RearTrack: 0.3, WheelRadius: 0.05}
		change(1, plant.RearLeft, 0, e.Steps[1].To-e.Steps[1].Applied, func(f *trace.Frame) { f.Value += 0.04 })(e)
		return everyCommand(t, e).Verdict
	}
	sum := 4 * base().Throttle
	assert.Equal(t, assertions.Pass, judged(sum, nil))
	assert.Equal(t, assertions.Fail, judged(sum+0.05, nil))
	assert.Equal(t, assertions.Pass, judged(sum+0.05, new(0.02)), "of two that are cut nothing is known")
	assert.Equal(t, assertions.Fail, judged(sum+2.2, new(0.02)))
}

// A failed check names what the policy says without which it would not rule the command out.
func TestTheKeysThatRuleACommandOut(t *testing.T) {
	const w = plant.RearLeft
	for _, tt := range []struct {
		name  string
		spoil func(e *assertions.Evidence)
		keys  []string
	}{
		{"a shift of a motor that is to stay", change(1, w, 150*ms, 180*ms, func(f *trace.Frame) { f.Value += 0.04 }), []string{"demand", "shift_at", "understeer"}},
		{"a slow answer", change(1, plant.RearRight, 0, 200*ms, func(f *trace.Frame) { f.Value = 0.4 }), []string{"demand", "response", "shift_at", "understeer"}},
		{"well", func(*assertions.Evidence) {}, nil},
	} {
		p := lossPolicy()
		p.Straight, p.ThrottleCurve, p.ShiftAt.Within = nil, law.ThrottleCurveNone, 0.1
		e := commanded(p, base(), before())
		tt.spoil(e)
		assert.Equal(t, tt.keys, everyCommand(t, e).Keys, tt.name)
	}
}

// Traction control cuts motors that would else have to be driven: one that cuts at less than its share of speed is ruled out
// by that share.
func TestAMotorThatIsCutTooSoonNamesTractionControl(t *testing.T) {
	const w = plant.FrontRight // the fastest wheel
	judged := func(share float64) assertions.Result {
		p := lossPolicy()
		p.Straight, p.ThrottleCurve, p.TractionControl = nil, law.ThrottleCurveNone, new(share)
		e := commanded(p, base(), before())
		e.Car = &plant.Car{FrontAxle: 0.14, RearAxle: 0.19, FrontTrack: 0.3, RearTrack: 0.3, WheelRadius: 0.05}
		for t := e.Trace.Start; t < e.Steps[len(e.Steps)-1].To; t += ms {
			s := playedAt(e, t)
			for w, v := range e.Car.HubSpeeds(s.Speed, s.YawRate, s.Steer) {
				wheel := trace.WheelFrontLeft + trace.Channel(w)
				e.Trace.Column[wheel] = append(e.Trace.Column[wheel], v/e.Car.WheelRadius)
			}
		}
		change(1, w, 150*ms, 180*ms, func(f *trace.Frame) { f.Value -= 0.3 })(e)
		return everyCommand(t, e)
	}
	assert.Equal(t, assertions.Pass, judged(0.01).Verdict)
	late := judged(0.4)
	assert.Equal(t, assertions.Fail, late.Verdict)
	assert.Contains(t, late.Keys, "traction_control")
}

// Where no throttle curve is declared, a baseline tells nothing of another throttle.
func TestASweptThrottleOfABoardOfWhichNoCurveIsDeclared(t *testing.T) {
	p := lossPolicy()
	p.ThrottleCurve = 0
	swept := stretch(titled("swept", onDemand(1)), 200*ms, 4*signal.Second)
	swept.Swept, swept.Changed = true, trace.Throttle
	e := commanded(p, base(), swept)
	sent := e.Trace.Sent[trace.SentThrottle]
	curved := func(x float64) float64 { return x - 0.3*x*(1-x) }
	for i := range sent {
		if at := sent[i].Start - e.Steps[1].From; at > 0 {
			sent[i].Value += 0.2 * math.Sin(math.Pi*at.Seconds()/4)
			for w := range e.Trace.Motor {
				for k := range e.Trace.Motor[w].Frames {
					if f := &e.Trace.Motor[w].Frames[k]; f.End > sent[i].End && f.End <= sent[i].End+10*ms {
						f.Value = curved(sent[i].Value)
					}
				}
			}
		}
	}
	r := everyCommand(t, e)
	assert.Equal(t, assertions.Pass, r.Verdict, "%+v", r)
}

// What is asked is known before anything is played.
func TestWhatIsNotAskedOfEveryCommand(t *testing.T) {
	poweredUp, silent := before(), lossPolicy()
	poweredUp.PowerUp, silent.StartState = true, 0
	faulty := under(stretch(titled("lost", held(1, 0.5)), 0, 300*ms), stimulus.Fault{Kind: stimulus.Lost, Wire: "yaw_serial"})
	for _, tt := range []struct {
		name  string
		p     *law.Policy
		steps []assertions.Step
		why   string
	}{
		{"after a power-up of which nothing is said", silent, []assertions.Step{poweredUp}, "just powered up"},
		{"with a fault from the beginning", lossPolicy(), []assertions.Step{faulty}, "from the beginning"},
		{"by a policy that says nothing", &law.Policy{}, []assertions.Step{base(), before()}, "says nothing"},
	} {
		e := commanded(lossPolicy(), tt.steps...)
		e.Policy = tt.p
		r := everyCommand(t, e)
		assert.Equal(t, assertions.NotAsked, r.Verdict, "%s: %+v", tt.name, r)
		assert.Contains(t, r.Why, tt.why)
	}
}
