package assertions_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/assertions"
	"hilrig/assertions/law"
	"hilrig/plant"
	"hilrig/rig/signal"
)

// woundPolicy declares a shift that gathers with time up to 15 %, by outside_rear against inside_front to either sense.
func woundPolicy() *law.Policy {
	p := integratingPolicy()
	p.Oversteer = &law.Split{Raise: p.Understeer.Lower, Lower: p.Understeer.Raise}
	return p
}

// woundSteps hold an error of understeer, and then one as large of oversteer.
func woundSteps() []assertions.Step {
	gain := func(s *assertions.Step) { s.Gain = 1 }
	return []assertions.Step{
		base(), stretch(titled("too little", with(held(1, 0.5), gain)), 4500*ms, 600*ms), stretch(titled("too much", with(held(1, 1.5), gain)), 2000*ms, 1000*ms),
	}
}

// inTurn lays steps one after another.
func inTurn(steps []assertions.Step) []assertions.Step {
	at := signal.Time(0)
	for i := range steps {
		s := &steps[i]
		s.Applied, s.From = at, at+s.From
		at = s.From + s.To
		s.To = at
	}
	return steps
}

// integrator returns firmware that shifts by what it has gathered, of rate per s while the error lasts, up to 15 %; it gathers
// up to a bound.
func integrator(rate, bound float64) func(f *firmware) {
	gathered, before := 0.0, signal.Time(0)
	return func(f *firmware) {
		f.last = func(in *seen, m *[4]float64) {
			dt := (in.now - before).Seconds()
			before = in.now
			*m = [4]float64{0.4, 0.4, 0.4, 0.4}
			if s := in.step; s.Baseline {
				gathered = 0
			} else {
				gathered += math.Copysign(rate, s.Demand-s.YawRate) * dt
				gathered = min(max(gathered, -bound), bound)
			}
			by := min(max(gathered, -0.15), 0.15)
			m[plant.RearRight] += by
			m[plant.FrontLeft] -= by
		}
	}
}

// What has gathered goes back once the error turns round; where more gathers than is commanded it does not, but for so
// little more that it has gone within two seconds.
func TestWhatHasGatheredGoesBack(t *testing.T) {
	for _, row := range []struct {
		name        string
		rate, bound float64
		want        assertions.Verdict
	}{
		{"bounded with the commands", 0.3, 0.15, assertions.Pass},
		{"slowly", 0.04, 0.15, assertions.Pass},
		{"half as wide again", 0.3, 0.225, assertions.Pass},
		{"without a bound", 0.3, math.Inf(1), assertions.Fail},
	} {
		e := played(woundPolicy(), integrator(row.rate, row.bound), woundSteps()...)
		c := assertions.PolicyBranch{Of: "winds_back", Step: "too much"}
		results := assertions.Judge(c, e)
		for _, name := range []string{"winds back: outside_rear no longer raised", "winds back: inside_front no longer lowered"} {
			assert.Equal(t, row.want, byName(t, results, name).Verdict, "%s: %+v", row.name, results)
		}
		planned(t, c, e, results)
	}
}

// It is asked where the policy has the shift gather to a clear one, and no motor come to its limit, and of nothing that gathers
// not at all.
func TestWhenWhatHasGatheredIsAskedToGoBack(t *testing.T) {
	for _, row := range []struct {
		name   string
		change func(p *law.Policy, steps []assertions.Step)
		asked  bool
		why    string
	}{
		{"as it is", func(*law.Policy, []assertions.Step) {}, true, ""},
		{"in proportion to the error", func(p *law.Policy, _ []assertions.Step) { p.ShiftAt.Grows = 0 }, false, "integrating up to most"},
		{"without a bound", func(p *law.Policy, _ []assertions.Step) { p.ShiftAt.Most = 0 }, false, "integrating up to most"},
		{"hardly at all", func(p *law.Policy, _ []assertions.Step) { p.ShiftAt.Is = 0.001 }, false, "need not have gathered"},
		{"to a limit", func(_ *law.Policy, s []assertions.Step) { s[1].Throttle, s[2].Throttle = 0.85, 0.85 }, false, "may come to its limit"},
		{"slowly smoothed", func(p *law.Policy, _ []assertions.Step) {
			p.Smoothing = &law.Smoothing{Filter: 200 * ms}
		}, false, "as slow as"},
		{"by one motor either way", func(p *law.Policy, _ []assertions.Step) { p.Oversteer = p.Understeer }, false, "no motor surely goes the other way"},
		{"after too short a time", func(_ *law.Policy, s []assertions.Step) { s[1].To = s[1].Applied + 3*signal.Second }, true, "too short for a wind-up"},
		{"for too short a time", func(_ *law.Policy, s []assertions.Step) { s[2].To = s[2].Applied + 2*signal.Second }, true, "hold it longer"},
		{"after the same sense", func(_ *law.Policy, s []assertions.Step) { s[1].YawRate = s[2].YawRate }, true, "of the other sense"},
		{"after a larger error", func(_ *law.Policy, s []assertions.Step) { s[1].YawRate = 0 }, false, "is smaller than"},
		{"at another throttle", func(_ *law.Policy, s []assertions.Step) { s[1].Throttle = 0.3 }, true, "another throttle"},
	} {
		p, steps := woundPolicy(), woundSteps()
		row.change(p, inTurn(steps))
		plan := assertions.Plan(assertions.PolicyBranch{Of: "winds_back", Step: "too much"}, &assertions.Evidence{Policy: p, Steps: steps, CommandStep: 0.001})
		require.NotEmpty(t, plan, row.name)
		assert.Equal(t, row.asked, plan[0].Asked, "%s: %+v", row.name, plan)
		assert.Contains(t, plan[0].Why, row.why, row.name)
	}
}
