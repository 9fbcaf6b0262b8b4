package assertions_test

import (
	"math"
	"math/rand/v2"
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

func played(p *law.Policy, change func(*firmware), steps ...assertions.Step) *assertions.Evidence {
	tp := tape{firmware: newFirmware(p, change), ramps: ramps}
	return tp.play(steps...)
}

// The interval is that of the trace itself: from the end of the last pulse or
// frame to the ends of the last command with the shift and the first without.
func TestTimesAreThoseOfTheTrace(t *testing.T) {
	for of, list := range map[string]trace.SentTo{"throttle_lost": trace.SentThrottle, "steer_lost": trace.SentSteer, "yaw_lost": trace.SentYawRate} {
		t.Run(of, func(t *testing.T) {
			e := played(lossPolicy(), nil, faultCases[of]...)
			s := e.Steps[2]
			var last signal.Time
			for _, x := range e.Trace.Sent[list] {
				if x.Start < s.Applied {
					last = x.End
				}
			}
			rest := 0.4
			if of == "throttle_lost" {
				rest = 0
			}
			low, high := signal.Time(0), signal.Time(0)
			for w := range e.Trace.Motor {
				frames := e.Trace.Motor[w].Between(last, s.To)
				for i, f := range frames {
					if math.Abs(f.Value-rest) > 0.02 && f.End > low {
						low, high = f.End, frames[i+1].End
					}
				}
			}
			r := assertions.Judge(assertions.PolicyBranch{Of: of, Step: "lost"}, e)[0]
			assert.InDelta(t, (low-last).Seconds()*1e3, r.Must().Low, 1e-9)
			assert.InDelta(t, (high-last).Seconds()*1e3, r.Must().High, 1e-9)
			assert.Equal(t, low, r.At)
		})
	}
	t.Run("encoder_lost", func(t *testing.T) {
		r := judge("encoder_lost", "lost", lossPolicy(), nil, faultCases["encoder_lost"]...)[0]
		assert.Greater(t, r.Must().High-r.Must().Low, 2.0, "its last edge is known to two ticks")
	})
}

// A fault that the wires do not show decides nothing.
func TestFaultsNotOnTheWire(t *testing.T) {
	tests := []struct {
		of      string
		corrupt func(e *assertions.Evidence)
		why     string
	}{
		{"bad_checksum", func(e *assertions.Evidence) {
			list := e.Trace.Sent[trace.SentYawRate]
			list[len(list)-9].Bad = false
		}, "under the fault"},
		{"yaw_frozen", func(e *assertions.Evidence) {
			list := e.Trace.Sent[trace.SentYawRate]
			list[len(list)-1].Value += 0.01
		}, "do not carry one value"},
		{"spike", func(e *assertions.Evidence) {
			for i := range e.Trace.Sent[trace.SentYawRate] {
				e.Trace.Sent[trace.SentYawRate][i].Value = 45 * deg
			}
		}, "no frame of yaw_serial carried the spike"},
	}
	for _, tt := range tests {
		t.Run(tt.of, func(t *testing.T) {
			e := played(lossPolicy(), nil, faultCases[tt.of]...)
			tt.corrupt(e)
			r := assertions.Judge(assertions.PolicyBranch{Of: tt.of}, e)[0]
			assert.Equal(t, assertions.Undecided, r.Verdict, "%+v", r)
			assert.Contains(t, r.Why, tt.why)
		})
	}
}

// A throttle other than the baseline's is no shift.
func TestThrottleIsNoShift(t *testing.T) {
	half := func(s assertions.Step) assertions.Step { s.Throttle = 0.5; return s }
	for _, of := range []string{"yaw_lost", "bad_checksum"} {
		steps := []assertions.Step{base(), half(before()), half(faultCases[of][2])}
		assert.Equal(t, assertions.Pass, assertions.Worst(judge(of, "", lossPolicy(), nil, steps...)), of)
		assert.Equal(t, assertions.Fail, assertions.Worst(judge(of, "", lossPolicy(), equalBoard, steps...)), of)
	}
}

func TestBadChecksumWithoutYawLost(t *testing.T) {
	p := lossPolicy()
	p.YawLost = nil
	for change, want := range map[string]assertions.Verdict{"good": assertions.Pass, "equal": assertions.Fail} {
		f := map[string]func(*firmware){"equal": equalBoard}[change]
		results := judge("bad_checksum", "", p, f, faultCases["bad_checksum"]...)
		require.Len(t, results, 1)
		assert.Equal(t, want, results[0].Verdict, "%+v", results)
	}
}

func TestRecoversFromSilence(t *testing.T) {
	p := lossPolicy()
	p.SafeState = law.OutputsSilent
	quiet := func(f *firmware) { f.silentWhenSafe = true }
	steps := []assertions.Step{base(), before(), under(titled("lost", after()), lost("throttle")), after()}
	assert.Equal(t, assertions.Pass, assertions.Worst(judge("recovers", "after", p, quiet, steps...)))
	p.Recovers = law.RecoversAtPowerCycle
	assert.Equal(t, assertions.Pass, assertions.Worst(judge("recovers", "after", p, quiet, steps...)), "still silent")
}

func TestStartReadsFromPowerUpOn(t *testing.T) {
	e := played(lossPolicy(), nil, faultCases["start"]...)
	s := e.Steps[0]
	check := assertions.PolicyBranch{Of: "start", Step: "power_up"}
	o := &e.Trace.Motor[plant.RearLeft]
	o.Frames = slices.Insert(o.Frames, 0, trace.Frame{Start: s.Applied - ms, End: s.Applied + ms/2, Value: 0.5})
	assert.Equal(t, assertions.Pass, assertions.Worst(assertions.Judge(check, e)), "a pulse that power-up cut short")
	o.Frames[3].Value = 0.1
	require.Less(t, o.Frames[3].End, s.From)
	r := assertions.Judge(check, e)[0]
	assert.Equal(t, assertions.Fail, r.Verdict)
	assert.Equal(t, o.Frames[3].End, r.At)
}

func TestOneUpdateApart(t *testing.T) {
	for w := range plant.Wheels {
		e := played(lossPolicy(), nil, lineCases["outputs_together"]...)
		frames := e.Trace.Motor[w].Frames
		late := &frames[len(frames)/2]
		late.Start += 700 * signal.Microsecond
		r := assertions.Judge(assertions.PolicyBranch{Of: "outputs_together"}, e)[0]
		assert.Equal(t, assertions.Fail, r.Verdict, "%v", plant.Wheels[w])
		assert.InDelta(t, 700, r.Must().Estimate, 1e-6)
	}
	// The first pulse of a window may have no company in it.
	e := played(lossPolicy(), nil, lineCases["outputs_together"]...)
	e.Steps[0].From = e.Trace.Motor[plant.FrontRight].Between(e.Steps[0].From, e.Steps[0].To)[0].End + 1
	e.Trace.Motor[plant.FrontLeft].Frames[0].End++
	first := e.Trace.Motor[plant.FrontLeft].Between(e.Steps[0].From, e.Steps[0].To)
	first[0].Start -= 600 * signal.Microsecond
	assert.Equal(t, assertions.Pass, assertions.Worst(assertions.Judge(assertions.PolicyBranch{Of: "outputs_together"}, e)))
}

func TestWhatCountsAsALeap(t *testing.T) {
	steps := lineCases["no_wrap"]
	p := lossPolicy()
	p.ThrottleCurve = law.ThrottleCurveNone
	r := judge("no_wrap", "", p, nil, steps...)[0]
	assert.Less(t, r.Must().Limit.High, 0.5+3*1+6*1.1, "less than the throttle's own step, three dead shifts and the declared shift with its tolerance come to")
	assert.Greater(t, r.Must().Limit.High, 2.0, "the shift that counts as none, to both sides")
	open := judge("no_wrap", "", lossPolicy(), nil, steps...)[0]
	assert.InDelta(t, 0.5+3*1+6*1.1+20, open.Must().Limit.High, 0.01, "and where the motors set in, where no throttle curve is declared")
	p.ShiftAt = nil
	r = judge("no_wrap", "", p, nil, steps...)[0]
	assert.InDelta(t, 0.5+3*1+20, r.Must().Limit.High, 0.01, "a fifth of the range where none is declared")
	fixed := func(f *firmware) {
		f.null = func(float64, *rand.Rand) ([4]float64, bool) { return [4]float64{0.3, 0.4, 0.5, 0.6}, true }
	}
	results := judge("no_wrap", "", lossPolicy(), fixed, steps...)
	assert.Equal(t, assertions.Fail, assertions.Worst(results))
	assert.Contains(t, results[0].Why, "only while the throttle went")
}

// A motor that is lowered by half the range or more is little commanded at full throttle.
func TestALargeShiftLeavesAMotorLittleAtFullThrottle(t *testing.T) {
	p := lossPolicy()
	p.ThrottleCurve, p.ShiftAt.Is = law.ThrottleCurveNone, 0.7
	results := judge("no_wrap", "", p, nil, lineCases["no_wrap"]...)
	assert.Equal(t, assertions.Pass, assertions.Worst(results), "%+v", results)
}

// Where no size is declared the motors that are shifted may stand at their limits all the way. The others follow the
// throttle.
func TestAShiftOfAnySizeMayStayAtALimit(t *testing.T) {
	p := lossPolicy()
	p.ShiftAt = nil
	front := func(of float64) assertions.Verdict {
		board := func(f *firmware) {
			f.null = func(throttle float64, _ *rand.Rand) (m [4]float64, ok bool) {
				m[plant.FrontRight], m[plant.RearLeft], m[plant.RearRight] = of*throttle, throttle, 0.95
				return m, true
			}
		}
		return assertions.Worst(judge("no_wrap", "", p, board, lineCases["no_wrap"]...))
	}
	assert.Equal(t, assertions.Pass, front(1))
	assert.Equal(t, assertions.Fail, front(0.3), "the motor in front outside is not shifted")
}

// A shift that gathers may come to an end of the range. Where the partner alone moves then, or the policy does not say, the
// motor itself need not.
func TestAShiftThatGathersMayStayAtALimit(t *testing.T) {
	asked := func(word law.AtTheLimit, most float64) (names []string) {
		p := lossPolicy()
		p.AtTheLimit, p.ShiftAt.Grows, p.ShiftAt.Most, p.SumKept = word, law.GrowthIntegrating, most, true
		steps := []assertions.Step{base(), stretch(titled("hold", held(1, 0.5)), 1200*ms, 300*ms)}
		for i := range steps {
			steps[i].From = steps[i].Applied + 1200*ms
		}
		for _, a := range assertions.Plan(assertions.PolicyBranch{Of: "understeer", Step: "hold"}, &assertions.Evidence{Policy: p, Steps: steps, CommandStep: 0.001}) {
			if a.Asked {
				names = append(names, a.Name)
			}
		}
		return names
	}
	const raised, sum = "understeer: outside_rear raised", "understeer: sum kept"
	assert.Contains(t, asked(law.LimitCap, 0.9), raised)
	assert.NotContains(t, asked(law.LimitCap, 0.9), sum)
	assert.Contains(t, asked(law.LimitPartnerOnly, 0.2), raised)
	assert.Contains(t, asked(law.LimitPartnerOnly, 0.2), sum)
	assert.NotContains(t, asked(law.LimitPartnerOnly, 0.9), raised)
	assert.NotContains(t, asked(0, 0.9), raised)
}

// With a dead band the line begins at its end, and each branch has its own.
func TestProportionalBeyondTheDeadBand(t *testing.T) {
	p := linePolicy("dead_band")
	p.ShiftAt.Is = 0.08 * 40 / 60 // what the firmware comes to at 60 deg/s, 20 of it in the dead band
	steps := []assertions.Step{base(), at("over", 1.6), at("a", 0.7), at("b", 0.6), at("c", 0.5), at("d", 0.2)}
	results := judge("proportional", "", p, asDeclared, steps...)
	assert.Equal(t, assertions.Pass, assertions.Worst(results), "%+v", results)
	results = judge("understeer", "", p, asDeclared, steps...)
	assert.Equal(t, assertions.Pass, assertions.Worst(results), "%+v", results)
	results = judge("understeer", "c", p, nil, steps...)
	assert.Equal(t, assertions.Fail, assertions.Worst(results), "a board without one, which by its slope might count from 0")
	over := []assertions.Step{base(), at("a", 1.2), at("b", 1.4), at("c", 1.6)}
	results = judge("proportional", "", lossPolicy(), nil, over...)
	assert.Equal(t, assertions.Pass, assertions.Worst(results), "%+v", results)
	assert.Len(t, results, 4)
}
