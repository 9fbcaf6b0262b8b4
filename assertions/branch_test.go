package assertions_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/assertions"
	"hilrig/assertions/law"
	"hilrig/plant"
)

// asked is each situation with a case that brings it about.
var asked = map[string][]assertions.Step{
	"understeer":    {onDemand(1), held(1, 0.5)},
	"oversteer":     {onDemand(1), held(1, 1.6)},
	"on_demand":     {onDemand(1), held(1, 1)},
	"opposite_lock": {onDemand(1), held(1, -0.3)},
	"zero_gain":     {onDemand(1), with(held(1, 0.5), func(s *assertions.Step) { s.Gain = 0 })},
	"standstill":    {onDemand(1), with(held(1, 0.5), func(s *assertions.Step) { s.Speed = 0.2 })},
	"reverse":       {onDemand(1), with(held(1, 0.5), func(s *assertions.Step) { s.Speed = -2 })},
	"straight":      {onDemand(1), with(held(1, 0.5), func(s *assertions.Step) { s.Steer = 0.5 * deg })},
	"braking":       {braking(onDemand(1)), braking(held(1, 0.5))},
	"cap":           {onDemand(1), with(held(1, 0.5), func(s *assertions.Step) { s.Throttle = 0.9 })},
	"floor":         {onDemand(1), with(held(1, 0.5), func(s *assertions.Step) { s.Throttle = 0.02 })},
	"at_the_limit": {
		with(onDemand(1), func(s *assertions.Step) { s.Throttle = 0.9 }),
		with(held(1, 0.5), func(s *assertions.Step) { s.Throttle = 0.9 }),
	},
}

// braking returns a step with the throttle at 20 % of braking.
func braking(s assertions.Step) assertions.Step {
	s.Throttle = -0.2
	return s
}

func TestGoodBoardPassesEachSituation(t *testing.T) {
	require.Len(t, asked, len(assertions.Branches))
	for _, of := range assertions.Branches {
		for _, turn := range []string{"left", "right"} {
			t.Run(of+" "+turn, func(t *testing.T) {
				steps := append([]assertions.Step(nil), asked[of]...)
				if turn == "right" {
					for i := range steps {
						steps[i] = mirroredStep(steps[i])
					}
				}
				e := bench{board: good, policy: policy(), spread: 0.0002}.play(steps...)
				results := assertions.Judge(assertions.PolicyBranch{Of: of}, e)
				assert.Equal(t, assertions.Pass, assertions.Worst(results), "%+v", results)
				for _, r := range results {
					assert.True(t, r.Measured(), r.Name)
					assert.Equal(t, "hold", r.Step)
					assert.Equal(t, "%", r.Must().Unit)
				}
			})
		}
	}
}

func TestUndersteerListsEachMotorSumAndSize(t *testing.T) {
	e := bench{board: good, policy: policy(), spread: 0.001}.play(asked["understeer"]...)
	results := assertions.Judge(assertions.PolicyBranch{Of: "understeer", Step: "hold"}, e)
	assert.Equal(t, []string{
		"understeer: outside_rear raised: pass",
		"understeer: inside_front lowered: pass",
		"understeer: outside_front unchanged: pass",
		"understeer: inside_rear unchanged: pass",
		"understeer: sum kept: pass",
		"understeer: size of shift of outside_rear: pass",
		"understeer: size of shift of inside_front: pass",
	}, verdicts(results))
	r := results[0]
	assert.Equal(t, "shift of outside_rear (rear_right)", r.Must().Quantity)
	assert.InDelta(t, 6, r.Must().Estimate, 0.1, "8 %% at 60 deg/s, so 6 %% at 45")
	assert.Less(t, r.Must().Low, r.Must().Estimate)
	assert.InDelta(t, 1, r.Must().Limit.Low, 1e-12)
	assert.Equal(t, e.Steps[1].From, r.At)
}

func TestSizeGoesWithErrorAndGain(t *testing.T) {
	judge := func(share, gain float64) []assertions.Result {
		s := with(held(1, share), func(s *assertions.Step) { s.Gain = gain })
		return assertions.Judge(assertions.PolicyBranch{Of: "understeer"}, bench{board: good, policy: policy(), spread: 0.001}.play(onDemand(1), s))
	}
	r := byName(t, judge(0.5, 0.8), "understeer: size of shift of inside_front")
	assert.Equal(t, assertions.Pass, r.Verdict)
	assert.InDelta(t, -9.6, (r.Must().Limit.Low+r.Must().Limit.High)/2, 1e-9, "8 %% at 60 deg/s and half gain, here 45 deg/s and 0.8")
	assert.InDelta(t, 2.12, r.Must().Limit.High-r.Must().Limit.Low, 1e-6, "the tolerance of the size, and a command step")
	// 1.2 % less a tenth is no clear shift, where 1 % counts as none.
	require.Len(t, judge(0.91, 0.5), 1)
	assert.Equal(t, assertions.NotAsked, judge(0.91, 0.5)[0].Verdict)
}

// What no board should get away with, and the result that finds it.
func TestBadBoardsFail(t *testing.T) {
	tests := []struct {
		name  string
		board board
		of    string
		found string
		why   string
	}{
		{"idle in understeer", idle, "understeer", "understeer: outside_rear raised", "was not driven"},
		{"idle in oversteer", idle, "oversteer", "oversteer: outside_front raised", "was not driven"},
		{"equal torque in understeer", equal, "understeer", "understeer: inside_front lowered", "did not move"},
		{"equal torque in oversteer", equal, "oversteer", "oversteer: outside_rear lowered", "did not move"},
		{"equal torque at opposite lock", equal, "opposite_lock", "opposite lock: outside_front raised", "did not move"},
		{"sides swapped", crossed, "understeer", "understeer: inside_rear unchanged", "was raised"},
		{"sign wrong", backwards, "oversteer", "oversteer: outside_rear lowered", "was raised"},
		{"shift too small", times(0.7), "understeer", "understeer: size of shift of outside_rear", "declares"},
		{"shift too large", times(1.4), "oversteer", "oversteer: size of shift of outside_rear", "declares"},
		{"gain ignored", func(s assertions.Step, p *law.Policy) [4]float64 { s.Gain = 0.5; return good(s, p) },
			"zero_gain", "zero gain: outside_rear unchanged", "was raised"},
		{"shifts at standstill", func(s assertions.Step, p *law.Policy) [4]float64 { s.Speed = 4; return good(s, p) },
			"standstill", "standstill: inside_front unchanged", "was lowered"},
		{"one motor weak", func(s assertions.Step, p *law.Policy) [4]float64 {
			m := equal(s, p)
			m[2] -= 0.03
			return m
		}, "on_demand", "on demand: motors equal", "rear_left"},
		{"sum not kept", func(s assertions.Step, p *law.Policy) [4]float64 {
			m := good(s, p)
			if !s.Baseline {
				m[plant.FrontLeft] += 0.03
			}
			return m
		}, "understeer", "understeer: sum kept", "total drive"},
		{"cap missing", func(s assertions.Step, p *law.Policy) [4]float64 { s.Steer = 1.9 * deg; return good(s, p) },
			"cap", "cap: outside_rear at most 92 %", "above 92 %"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			e := bench{board: tt.board, policy: policy(), spread: 0.001}.play(asked[tt.of]...)
			results := assertions.Judge(assertions.PolicyBranch{Of: tt.of}, e)
			r := byName(t, results, tt.found)
			assert.Equal(t, assertions.Fail, r.Verdict, "%+v", r)
			assert.Contains(t, r.Why, tt.why)
			assert.Equal(t, assertions.Fail, assertions.Worst(results))
		})
	}
}

func TestSilentBoardFailsEachSituation(t *testing.T) {
	for _, of := range assertions.Branches {
		t.Run(of, func(t *testing.T) {
			e := bench{board: good, policy: policy()}.play(asked[of]...)
			for w := range e.Trace.Motor {
				e.Trace.Motor[w].Frames = nil
			}
			results := assertions.Judge(assertions.PolicyBranch{Of: of}, e)
			require.NotEmpty(t, results)
			for _, r := range results {
				assert.Equal(t, assertions.Fail, r.Verdict, r.Name)
				assert.Contains(t, r.Why, "sent no command in the window")
				assert.False(t, r.Measured())
			}
		})
	}
}

func TestOneSilentMotorFailsWhatReadsIt(t *testing.T) {
	e := bench{board: good, policy: policy()}.play(asked["understeer"]...)
	hold := e.Steps[1]
	e.Trace.Motor[plant.RearLeft].Frames = e.Trace.Motor[plant.RearLeft].Between(0, hold.From)
	results := assertions.Judge(assertions.PolicyBranch{Of: "understeer"}, e)
	r := byName(t, results, "understeer: inside_rear unchanged")
	assert.Equal(t, assertions.Fail, r.Verdict)
	assert.Equal(t, "motor_rear_left sent no command in the window", r.Why)
	assert.Equal(t, assertions.Fail, byName(t, results, "understeer: sum kept").Verdict)
	assert.Equal(t, assertions.Pass, byName(t, results, "understeer: outside_rear raised").Verdict)
}

func TestWhatThePolicyLeavesOutIsNotAsked(t *testing.T) {
	leave := map[string]func(*law.Policy){
		"understeer":    func(p *law.Policy) { p.Understeer = nil },
		"oversteer":     func(p *law.Policy) { p.Oversteer = nil },
		"opposite_lock": func(p *law.Policy) { p.OppositeLock = 0 },
		"cap":           func(p *law.Policy) { p.Cap = nil },
		"floor":         func(p *law.Policy) { p.Floor = nil },
		"standstill":    func(p *law.Policy) { p.Standstill = nil },
		"reverse":       func(p *law.Policy) { p.Reverse = 0 },
		"at_the_limit":  func(p *law.Policy) { p.AtTheLimit = 0 },
	}
	for of, change := range leave {
		t.Run(of, func(t *testing.T) {
			p := policy()
			change(p)
			results := assertions.Judge(assertions.PolicyBranch{Of: of}, bench{board: good, policy: p}.play(asked[of]...))
			require.Len(t, results, 1)
			assert.Equal(t, assertions.NotAsked, results[0].Verdict)
			assert.Contains(t, results[0].Why, of)
		})
	}
	t.Run("size without demand or shift_at", func(t *testing.T) {
		p := policy()
		p.ShiftAt, p.SumKept = nil, false
		e := bench{board: good, policy: p}.play(asked["understeer"]...)
		assert.Len(t, assertions.Judge(assertions.PolicyBranch{Of: "understeer"}, e), 4)
		results := assertions.Judge(assertions.PolicyBranch{Of: "at_the_limit"}, e)
		require.Len(t, results, 1)
		assert.Equal(t, assertions.NotAsked, results[0].Verdict)
	})
	t.Run("no policy at all", func(t *testing.T) {
		e := bench{board: good, policy: policy()}.play(asked["understeer"]...)
		e.Policy = nil
		assert.Equal(t, assertions.NotAsked, assertions.Worst(assertions.Judge(assertions.PolicyBranch{Of: "understeer"}, e)))
	})
}

func TestOppositeLockWithoutShift(t *testing.T) {
	p := policy()
	p.OppositeLock = law.OppositeLockNoShift
	steps := asked["opposite_lock"]
	e := bench{board: equal, policy: p}.play(steps...)
	results := assertions.Judge(assertions.PolicyBranch{Of: "opposite_lock"}, e)
	assert.Equal(t, assertions.Pass, assertions.Worst(results))
	assert.Contains(t, verdicts(results), "opposite lock: outside_rear unchanged: pass")
	e = bench{board: good, policy: p}.play(steps...)
	assert.Equal(t, assertions.Fail, assertions.Worst(assertions.Judge(assertions.PolicyBranch{Of: "opposite_lock"}, e)))
}

// What happens at one limit alone is asked where a policy says it of that alone, and of that limit only; a word of its own is what a check
// names, be it the same as the general one.
func TestAWordForOneLimitIsAskedOfIt(t *testing.T) {
	high := func(p *law.Policy) []assertions.Result {
		partner := func(s assertions.Step, p *law.Policy) [4]float64 { // that moves by what its partner has no room for
			q := *p
			q.AtTheLimit = law.LimitMovePartner
			return good(s, &q)
		}
		return assertions.Judge(assertions.PolicyBranch{Of: "at_the_limit"}, bench{board: partner, policy: p, spread: 0.0002}.play(asked["at_the_limit"]...))
	}
	with := func(limit, cap, floor law.AtTheLimit) *law.Policy {
		p := policy()
		p.AtTheLimit, p.AtTheCap, p.AtTheFloor = limit, cap, floor
		return p
	}
	for _, p := range []*law.Policy{with(0, law.LimitCap, 0), with(law.LimitCap, law.LimitCap, 0), with(law.LimitMovePartner, law.LimitCap, law.LimitCap)} {
		results := high(p)
		assert.Equal(t, assertions.Fail, assertions.Worst(results), "%+v", results)
		for _, r := range results {
			if r.Verdict == assertions.Fail {
				assert.Contains(t, r.Keys, "at_the_cap")
			}
		}
	}
	assert.Equal(t, assertions.Pass, assertions.Worst(high(with(0, law.LimitMovePartner, 0))))
	results := high(with(0, 0, law.LimitCap))
	require.Len(t, results, 1)
	assert.Equal(t, assertions.NotAsked, results[0].Verdict)
	assert.Contains(t, results[0].Why, "no at_the_limit")
}

// A shift that grows where none is allowed makes its mean uncertain; that every command of half the window lies beyond is certain.
func TestAGrowingShiftWhereNoneIsAllowedFails(t *testing.T) {
	for _, grows := range []law.Growth{law.GrowthIntegrating, law.GrowthProportional} {
		p := lossPolicy()
		p.ShiftAt.Grows, p.ShiftAt.Most = grows, 0.3
		growing := func(f *firmware) {
			f.last = func(in *seen, m *[4]float64) {
				if s := in.step; !s.Baseline && in.now > s.From {
					m[plant.RearRight] += 0.4 * (in.now - s.From).Seconds()
				}
			}
		}
		hold := stretch(titled("hold", onDemand(1)), 200*ms, 600*ms)
		hold.Baseline = false
		results := assertions.Judge(assertions.PolicyBranch{Of: "on_demand"}, played(p, growing, base(), hold))
		r := byName(t, results, "on demand: outside_rear unchanged")
		assert.Equal(t, assertions.Fail, r.Verdict, "%v: %+v", grows, r)
		assert.Equal(t, assertions.Pass, byName(t, results, "on demand: outside_front unchanged").Verdict)
	}
}

// A step in which the situation does not arise shows nothing, and says so.
func TestMisplacedStepIsUndecided(t *testing.T) {
	p := policy()
	p.DeadBand = new(20 * deg)
	tests := []struct{ name, of, in, why string }{
		{"oversteer judged as understeer", "understeer", "oversteer", "no understeer"},
		{"understeer judged as oversteer", "oversteer", "understeer", "no oversteer"},
		{"oversteer judged as opposite lock", "opposite_lock", "oversteer", "no opposite lock"},
		{"too fast for standstill", "standstill", "understeer", "mend the step"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			results := assertions.Judge(assertions.PolicyBranch{Of: tt.of}, bench{board: good, policy: p}.play(asked[tt.in]...))
			require.Len(t, results, 1)
			assert.Equal(t, assertions.Undecided, results[0].Verdict)
			assert.Contains(t, results[0].Why, tt.why)
		})
	}
	t.Run("room at the limit", func(t *testing.T) {
		results := assertions.Judge(assertions.PolicyBranch{Of: "at_the_limit"}, bench{board: good, policy: policy()}.play(asked["understeer"]...))
		require.Len(t, results, 1)
		assert.Equal(t, assertions.NotAsked, results[0].Verdict)
		assert.Contains(t, results[0].Why, "nearer")
	})
	t.Run("error in the dead band", func(t *testing.T) {
		results := assertions.Judge(assertions.PolicyBranch{Of: "understeer"}, bench{board: good, policy: p}.play(onDemand(1), held(1, 0.9)))
		require.Len(t, results, 1)
		assert.Equal(t, assertions.NotAsked, results[0].Verdict)
		assert.Contains(t, results[0].Why, "dead band of 20 deg/s")
	})
	for name, steps := range map[string][]assertions.Step{
		"no baseline": {held(1, 0.5)}, "only the baseline": {onDemand(1)}, "no step": nil,
	} {
		t.Run(name, func(t *testing.T) {
			results := assertions.Judge(assertions.PolicyBranch{Of: "understeer"}, bench{board: good, policy: p}.play(steps...))
			require.Len(t, results, 1)
			assert.Equal(t, assertions.Undecided, results[0].Verdict)
		})
	}
	t.Run("unknown situation", func(t *testing.T) {
		results := assertions.Judge(assertions.PolicyBranch{Of: "flying"}, bench{board: good, policy: p}.play(asked["cap"]...))
		require.Len(t, results, 1)
		assert.Equal(t, assertions.Undecided, results[0].Verdict)
	})
}
