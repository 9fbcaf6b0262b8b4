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

// gathers returns firmware whose shift has gathered to the bound of its policy, by a demand that is so many times that of the policy.
func gathers(times float64) func(s assertions.Step, p *law.Policy) [4]float64 {
	return func(s assertions.Step, p *law.Policy) [4]float64 {
		s.Demand *= times
		if s.Baseline || s.Gain == 0 {
			s.YawRate = s.Demand
		} else {
			s.YawRate = s.Demand + math.Copysign(60*deg, s.YawRate-s.Demand)
		}
		q, at := *p, *p.ShiftAt
		at.Grows, at.Is = 0, p.ShiftAt.Most
		at.Error, at.Gain = 60*deg, s.Gain
		q.ShiftAt = &at
		return good(s, &q)
	}
}

// besideDemand returns a baseline without gain and a step that has held a yaw rate, a share of the demand, for so long.
func besideDemand(turn, yaw float64, settled signal.Time) []assertions.Step {
	base := onDemand(turn)
	base.Gain = 0
	s := with(held(turn, yaw), func(s *assertions.Step) { s.Gain = 1 })
	s.Applied = s.From - settled
	return []assertions.Step{base, s}
}

// integratingPolicy declares a shift of 10 % at 60 deg/s that gathers with time, and a demand within 5 %.
func integratingPolicy() *law.Policy {
	p := policy()
	at := *p.ShiftAt
	at.Grows, at.Most, at.Error, at.Gain, at.Is = law.GrowthIntegrating, 0.15, 60*deg, 0.5, 0.1
	p.ShiftAt, p.Demand.Within, p.DeadBand = &at, 0.05, nil
	return p
}

// Which branch's shift gathers beside the demand tells where the board's lies: one that takes it for a fifth more shifts as for
// understeer where the policy asks for oversteer, be the turn to the left or to the right.
func TestAGatheringShiftTellsOnWhichSideTheDemandLies(t *testing.T) {
	for _, row := range []struct {
		name         string
		times        float64
		below, above assertions.Verdict
	}{
		{"as declared", 1, assertions.Pass, assertions.Pass},
		{"within its tolerance, low", 0.96, assertions.Pass, assertions.Pass},
		{"within its tolerance, high", 1.04, assertions.Pass, assertions.Pass},
		{"a third too much", 4. / 3, assertions.Pass, assertions.Fail},
		{"a third too little", 2. / 3, assertions.Fail, assertions.Pass},
	} {
		for _, turn := range []float64{1, -1} {
			for yaw, want := range map[float64]assertions.Verdict{0.75: row.below, 1.25: row.above} {
				e := bench{board: gathers(row.times), policy: integratingPolicy(), spread: 0.0002}.play(besideDemand(turn, yaw, 0)...)
				e.Steps[1].Applied = e.Steps[1].From - 1200*ms // its commands stand from the beginning
				results := assertions.Judge(assertions.PolicyBranch{Of: "demand_side"}, e)
				assert.Equal(t, want, assertions.Worst(results), "%s, turn %v, at %v of the demand: %+v", row.name, turn, yaw, results)
				for _, r := range results {
					if r.Verdict == assertions.Fail {
						assert.Contains(t, r.Keys, "demand", "%+v", r)
					}
				}
			}
		}
	}
}

// Nothing is asked where a shift that keeps the policy need not be there: it does not gather, has not had the time, is too small
// by the policy's tolerances, or has no branch on that side.
func TestASideOfTheDemandIsAskedWhereAShiftSurelyGathers(t *testing.T) {
	for _, row := range []struct {
		name   string
		change func(p *law.Policy, s *assertions.Step)
		asked  bool
		why    string
	}{
		{"as it is", func(*law.Policy, *assertions.Step) {}, true, ""},
		{"in proportion to the error", func(p *law.Policy, _ *assertions.Step) { p.ShiftAt.Grows, p.ShiftAt.Most = 0, 0 }, false, "in a sweep"},
		{"of no size", func(p *law.Policy, _ *assertions.Step) { p.ShiftAt = nil }, false, "in a sweep"},
		{"two and a half seconds, of half the size", func(p *law.Policy, s *assertions.Step) { s.Applied, p.ShiftAt.Is = s.From-2500*ms, 0.045 }, true, ""},
		{"half the size", func(p *law.Policy, _ *assertions.Step) { p.ShiftAt.Is = 0.045 }, false, "does not surely gather"},
		{"ten seconds, of a tenth of the size", func(p *law.Policy, s *assertions.Step) { s.Applied, p.ShiftAt.Is = s.From-10*signal.Second, 0.01 }, false, "does not surely gather"},
		{"half a second", func(_ *law.Policy, s *assertions.Step) { s.Applied = s.From - 500*ms }, false, "does not surely gather"},
		{"a demand within a fifth", func(p *law.Policy, _ *assertions.Step) { p.Demand.Within = 0.2 }, false, "does not surely gather"},
		{"a dead band that takes most of it", func(p *law.Policy, _ *assertions.Step) { p.DeadBand = new(18 * deg) }, false, "does not surely gather"},
		{"oversteer alone", func(p *law.Policy, _ *assertions.Step) { p.Understeer = nil }, false, "no understeer"},
		{"no demand", func(p *law.Policy, _ *assertions.Step) { p.Demand = nil }, false, "no demand"},
		{"on demand", func(_ *law.Policy, s *assertions.Step) { s.YawRate = s.Demand }, true, "beside the demand"},
		{"opposite lock", func(_ *law.Policy, s *assertions.Step) { s.YawRate = -s.YawRate }, true, "beside the demand"},
	} {
		p, steps := integratingPolicy(), besideDemand(1, 0.75, 1200*ms)
		row.change(p, &steps[1])
		plan := assertions.Plan(assertions.PolicyBranch{Of: "demand_side"}, &assertions.Evidence{Policy: p, Steps: steps, CommandStep: 0.001})
		require.NotEmpty(t, plan, row.name)
		assert.Equal(t, row.asked, plan[0].Asked, "%s: %+v", row.name, plan)
		assert.Contains(t, plan[0].Why, row.why, row.name)
	}
}

// The demand counts as asked where it is measured, and not where only the sense of a shift is.
func TestTheDemandIsAskedWhereItIsMeasured(t *testing.T) {
	sized, gathering := policy(), integratingPolicy()
	for _, of := range []string{"understeer", "oversteer"} {
		assert.Contains(t, assertions.KeysAsked(of, sized), "demand", "the size of the shift tells it")
		assert.NotContains(t, assertions.KeysAsked(of, gathering), "demand")
	}
	for _, of := range []string{"demand", "demand_side", "on_demand", "follows"} {
		assert.Contains(t, assertions.KeysAsked(of, gathering), "demand", of)
	}
}

// A shift that grows all through a step has no mean that could be stated closely; that every command of half of it is clear decides.
func TestAShiftThatStillGrowsIsJudgedByEveryCommand(t *testing.T) {
	for _, row := range []struct {
		name       string
		from, rate float64 // shares of range, and of range per s
		want       assertions.Verdict
	}{
		{"clear from the beginning", 0.02, 0.4, assertions.Pass},
		{"to the other side", -0.02, -0.4, assertions.Fail},
		{"from one side to the other", -0.16, 0.4, assertions.Undecided},
	} {
		p := integratingPolicy()
		p.Demand.Within = 0
		growing := func(f *firmware) {
			f.last = func(in *seen, m *[4]float64) {
				*m = [4]float64{0.4, 0.4, 0.4, 0.4}
				if s := in.step; !s.Baseline && in.now > s.Applied {
					by := row.from + row.rate*max(in.now-s.From, 0).Seconds()
					m[plant.RearRight] += by
					m[plant.FrontLeft] -= by
				}
			}
		}
		hold := stretch(titled("hold", held(1, 0.5)), 1200*ms, 800*ms)
		results := assertions.Judge(assertions.PolicyBranch{Of: "understeer"}, played(p, growing, base(), hold))
		assert.Equal(t, row.want, byName(t, results, "understeer: outside_rear raised").Verdict, "%s: %+v", row.name, results)
		assert.Equal(t, row.want, byName(t, results, "understeer: inside_front lowered").Verdict, row.name)
	}
}
