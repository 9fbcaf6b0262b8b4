package assertions_test

import (
	"math"
	"math/cmplx"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"hilrig/assertions"
	"hilrig/assertions/law"
	"hilrig/rig/signal"
	"hilrig/rig/trace"
)

// swinger is firmware that adds a derivative to the yaw error, behind a low-pass, and goes by what is so old, each so much of it.
type swinger struct {
	lead, lag float64 // s
	delays    []signal.Time
	weights   []float64
	step      float64 // commands are whole numbers of it; 0: as they come
}

// swung plays swings of the yaw rate to it: a yaw rate each 5 ms, a command each 3 ms. Of the yaw rate one frame counts as it
// was sent, as a firmware sees it, until the next.
func (f swinger) swung(p *law.Policy) *assertions.Evidence {
	const frame, command = 5 * ms, 3 * ms
	e := &assertions.Evidence{Trace: &trace.Trace{Tick: ms}, Policy: p, CommandStep: 0.0005, Apart: assertions.Apart{Yaw: frame, Steer: 10 * ms, Slowest: 10 * ms}}
	now := signal.Second
	for _, hz := range []float64{1, 2, 4, 8, 16} {
		s := held(1, 0.4)
		swing := &assertions.Swing{Of: trace.YawRate, By: 0.15 * s.Demand, At: hz}
		s.Name, s.Applied, s.From, s.To, s.Moving, s.Swing = "swing", now, now+300*ms, now+6300*ms, true, swing
		rate := 2 * math.Pi * hz
		// The sine, with what the derivative adds, at a moment of a frame.
		lead := 1 + complex(0, rate*f.lead)/complex(1, rate*f.lag)
		at := func(t signal.Time, times complex128) float64 {
			t = t / frame * frame
			return s.YawRate + swing.By*imag(times*cmplx.Rect(1, rate*(t-now).Seconds()))
		}
		for t := now - 200*ms; t < s.To; t += frame {
			e.Trace.Sent[trace.SentYawRate] = append(e.Trace.Sent[trace.SentYawRate], trace.Sent{Start: t - 1, End: t, Value: at(t, 1)})
		}
		for t := now; t < s.To; t += command {
			yaw := 0.0
			for k, d := range f.delays {
				yaw += f.weights[k] * at(t-d, lead)
			}
			size := 0.08 * (s.Demand - yaw) / (60 * deg) * s.Gain / 0.5
			for w, x := range map[int]float64{0: s.Throttle - size, 1: s.Throttle, 2: s.Throttle, 3: s.Throttle + size} {
				if f.step > 0 {
					x = math.Round(x/f.step) * f.step
				}
				e.Trace.Motor[w].Frames = append(e.Trace.Motor[w].Frames, trace.Frame{Start: t - ms, End: t, Value: x})
			}
		}
		e.Steps = append(e.Steps, s)
		now = s.To + 500*ms
	}
	return e
}

// swingPolicy declares a derivative of so many seconds and a response.
func swingPolicy(lead float64, late signal.Time) *law.Policy {
	p := policy()
	p.Response, p.Resolution = &law.Response{AtMost: late, Quantile: 0.95}, new(0.0005)
	p.ShiftAt.DerivativeTime = lead
	return p
}

// ofSwings returns the one result of a derivative.
func ofSwings(t require.TestingT, e *assertions.Evidence) assertions.Result {
	all := assertions.Judge(assertions.PolicyBranch{Of: "derivative"}, e)
	require.Len(t, all, 1)
	return all[0]
}

// Whatever the firmware goes by within what the policy lets it be late, its swings are those that the policy allows.
func TestSwingsOfFirmwareWithTheDeclaredDerivativePass(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		late := signal.Time(rapid.IntRange(8, 24).Draw(t, "response")) * ms
		lead := float64(rapid.IntRange(12, 30).Draw(t, "derivative")) * 1e-3
		f := swinger{lead: lead, lag: lead * rapid.Float64Range(0, 1).Draw(t, "low-pass")}
		sum := 0.0
		for range rapid.IntRange(1, 4).Draw(t, "delays") {
			f.delays = append(f.delays, signal.Time(rapid.Int64Range(0, int64(late)).Draw(t, "delay")))
			f.weights = append(f.weights, rapid.Float64Range(0.1, 1).Draw(t, "weight"))
			sum += f.weights[len(f.weights)-1]
		}
		for k := range f.weights {
			f.weights[k] /= sum
		}
		f.step = rapid.Float64Range(0.0005, 0.011).Draw(t, "step")
		p := swingPolicy(lead, late)
		p.Resolution = &f.step
		r := ofSwings(t, f.swung(p))
		if r.Verdict != assertions.NotAsked {
			assert.Equal(t, assertions.Pass, r.Verdict, r.Why)
		}
	})
}

// Without it, or with it the wrong way round or ten times too large, they are not.
func TestSwingsTellAWrongDerivative(t *testing.T) {
	for _, row := range []struct {
		name   string
		times  float64
		delays []signal.Time
		want   assertions.Verdict
	}{
		{"as declared", 1, []signal.Time{6 * ms}, assertions.Pass},
		{"left out, soon", 0, []signal.Time{4 * ms}, assertions.Fail},
		{"left out, late", 0, []signal.Time{11 * ms}, assertions.Fail},
		{"left out, a mean", 0, []signal.Time{2 * ms, 6 * ms, 10 * ms}, assertions.Fail},
		{"the wrong way round", -1, []signal.Time{6 * ms}, assertions.Fail},
		{"ten times too large", 10, []signal.Time{6 * ms}, assertions.Fail},
	} {
		t.Run(row.name, func(t *testing.T) {
			const lead = 0.025
			f := swinger{lead: lead * row.times, lag: 0.004, delays: row.delays}
			for range f.delays {
				f.weights = append(f.weights, 1/float64(len(f.delays)))
			}
			r := ofSwings(t, f.swung(swingPolicy(lead, 12*ms)))
			assert.Equal(t, row.want, r.Verdict, r.Why)
			if row.want == assertions.Fail {
				assert.Equal(t, []string{"shift_at"}, r.Keys)
			}
		})
	}
}

// Where the policy leaves no room to tell, that is said before anything is played.
func TestSwingsThatAreNotAsked(t *testing.T) {
	for _, row := range []struct {
		name   string
		change func(p *law.Policy)
		why    string
	}{
		{"no derivative", func(p *law.Policy) { p.ShiftAt.DerivativeTime = 0 }, "the policy has no shift_at with a derivative_time"},
		{"no response", func(p *law.Policy) { p.Response = nil }, "the policy has no response"},
		{"a shift that gathers", func(p *law.Policy) { p.ShiftAt.Grows, p.ShiftAt.Most = law.GrowthIntegrating, 0.2 }, "gathers with time"},
		{"a lead that the response hides", func(p *law.Policy) { p.ShiftAt.DerivativeTime = 0.006 }, "old, and in that a lead of"},
		{"coarse commands", func(p *law.Policy) { p.Resolution = new(0.012) }, "one step of them may be 1.2 %"},
		{"a slew limit", func(p *law.Policy) { p.Smoothing = &law.Smoothing{FullRangeIn: 20 * signal.Second} }, "smoothing may hold the commands back"},
		{"no room", func(p *law.Policy) { p.Cap.Of = 0.45 }, "a motor may come to its cap"},
		{"a bound that is near", func(p *law.Policy) { p.ShiftAt.Grows, p.ShiftAt.Most = law.GrowthSaturating, 0.09 }, "hardly swings"},
		{"a large dead band", func(p *law.Policy) { p.DeadBand = new(50 * deg) }, "the shift may go away"},
	} {
		t.Run(row.name, func(t *testing.T) {
			p := swingPolicy(0.025, 12*ms)
			row.change(p)
			e := swinger{lead: 0.025, delays: []signal.Time{6 * ms}, weights: []float64{1}}.swung(p)
			planned := assertions.Plan(assertions.PolicyBranch{Of: "derivative"}, e)
			require.Len(t, planned, 1)
			assert.False(t, planned[0].Asked)
			assert.Contains(t, planned[0].Why, row.why)
		})
	}
}

// CALC by quadrature: the first harmonic of a sine that is rounded to whole steps, over sizes and over where between two steps
// its middle lies, is no farther from the sine than is reckoned with.
func TestTheFirstHarmonicOfARoundedSine(t *testing.T) {
	const parts = 720
	for steps := 2.0; steps < 30; steps *= 1.07 {
		worst := 0.0
		for _, middle := range []float64{0, 0.1, 0.2, 0.3, 0.4, 0.5} {
			sum := 0.0
			for k := range parts {
				at := math.Sin(2 * math.Pi * (float64(k) + 0.5) / parts)
				sum += 2 * at * math.Round(steps*at+middle) / parts
			}
			worst = max(worst, math.Abs(sum/steps-1))
		}
		assert.LessOrEqual(t, worst, assertions.Coarsely(steps), "%.2f steps", steps)
	}
	assert.True(t, slices.IsSorted([]float64{assertions.Coarsely(9), assertions.Coarsely(3)}))
}
