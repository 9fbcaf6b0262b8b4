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
	"hilrig/rig/trace"
)

// One wrapped frame among hundreds is what cap and floor are for.
func TestOneWrappedFrameIsFound(t *testing.T) {
	t.Run("past the cap", func(t *testing.T) {
		e := bench{board: good, policy: policy()}.play(asked["cap"]...)
		at := spike(e, plant.FrontRight, 1, 0.99)
		r := byName(t, assertions.Judge(assertions.PolicyBranch{Of: "cap"}, e), "cap: outside_front at most 92 %")
		assert.Equal(t, assertions.Fail, r.Verdict)
		assert.Equal(t, at, r.At)
		assert.InDelta(t, 99, r.Must().Estimate, 1e-9)
		assert.Contains(t, r.Why, "1 of 80 commands")
	})
	t.Run("below the floor", func(t *testing.T) {
		p := policy()
		p.Floor = new(0.01)
		e := bench{board: equal, policy: p}.play(asked["floor"]...)
		at := spike(e, plant.RearLeft, 1, 0)
		r := byName(t, assertions.Judge(assertions.PolicyBranch{Of: "floor"}, e), "floor: inside_rear at least 1 %")
		assert.Equal(t, assertions.Fail, r.Verdict)
		assert.Equal(t, at, r.At)
	})
	for _, tt := range []struct {
		of   string
		kind trace.EventKind
	}{{"cap", trace.Overlong}, {"floor", trace.Short}} {
		t.Run(tt.of+" by a pulse past the format", func(t *testing.T) {
			e := bench{board: good, policy: policy()}.play(asked[tt.of]...)
			at := e.Steps[1].From + 3*signal.Millisecond
			e.Trace.Motor[plant.RearRight].Events = []trace.Event{
				{At: e.Steps[1].From - 1, Kind: tt.kind}, {At: e.Steps[1].From + 1, Kind: trace.Corrupt}, {At: at, Kind: tt.kind},
			}
			results := assertions.Judge(assertions.PolicyBranch{Of: tt.of}, e)
			require.Len(t, results, 4)
			failed := 0
			for _, r := range results {
				if r.Verdict == assertions.Fail {
					failed++
					assert.Equal(t, at, r.At, "the one in the window")
					assert.Contains(t, r.Why, tt.kind.String())
				}
			}
			assert.Equal(t, 1, failed)
		})
	}
}

func TestCapAndFloorHoldOnlyUnderTheirCondition(t *testing.T) {
	straight := with(held(1, 0.5), func(s *assertions.Step) { s.Steer = 1 * deg })
	e := bench{board: good, policy: policy()}.play(onDemand(1), straight)
	assert.Equal(t, assertions.NotAsked, assertions.Worst(assertions.Judge(assertions.PolicyBranch{Of: "cap"}, e)))

	p := policy()
	for _, floor := range []float64{0.1, 0.02} { // the throttle is at 2 %: it may be read as a little less
		p.Floor = new(floor)
		e = bench{board: good, policy: p}.play(asked["floor"]...)
		assert.Equal(t, assertions.NotAsked, assertions.Worst(assertions.Judge(assertions.PolicyBranch{Of: "floor"}, e)))
	}
}

// A frame that is no number hides nothing.
func TestNoNumberIsNeverKept(t *testing.T) {
	for _, of := range []string{"cap", "floor", "understeer", "on_demand"} {
		e := bench{board: good, policy: policy()}.play(asked[of]...)
		spike(e, plant.FrontLeft, 1, math.NaN())
		results := assertions.Judge(assertions.PolicyBranch{Of: of}, e)
		assert.Equal(t, assertions.Undecided, assertions.Worst(results), of)
		for _, r := range results {
			if r.Verdict == assertions.Undecided {
				assert.Contains(t, r.Why, "no finite numbers")
			}
		}
	}
}

// Each limit looks at its own side only.
func TestPulsesPastTheOtherEndAreNotItsConcern(t *testing.T) {
	for of, kind := range map[string]trace.EventKind{"cap": trace.Short, "floor": trace.Overlong} {
		e := bench{board: good, policy: policy()}.play(asked[of]...)
		e.Trace.Motor[plant.RearRight].Events = []trace.Event{{At: e.Steps[1].From, Kind: kind}}
		assert.Equal(t, assertions.Pass, assertions.Worst(assertions.Judge(assertions.PolicyBranch{Of: of}, e)), of)
	}
}

// A command that stands at the cap keeps it, read a little high or low.
func TestStandingAtTheCapPasses(t *testing.T) {
	for _, tt := range []struct {
		name  string
		value float64
		want  assertions.Verdict
	}{
		{"at it", 0.92, assertions.Pass},
		{"one command step of uncertainty above", 0.9209, assertions.Pass},
		{"within the uncertainty of being above", 0.9222, assertions.Undecided},
		{"above by more than the uncertainty", 0.924, assertions.Fail},
	} {
		t.Run(tt.name, func(t *testing.T) {
			e := bench{board: equal, policy: policy()}.play(asked["cap"]...)
			spike(e, plant.FrontLeft, 1, tt.value)
			r := byName(t, assertions.Judge(assertions.PolicyBranch{Of: "cap"}, e), "cap: inside_front at most 92 %")
			assert.Equal(t, tt.want, r.Verdict, "%+v", r)
			assert.Equal(t, tt.want != assertions.Pass, r.Why != "")
		})
	}
}

// passingOn is the policy of firmware that passes the throttle on.
func passingOn() *law.Policy {
	p := policy()
	p.ThrottleCurve = law.ThrottleCurveNone
	return p
}

func TestAtTheLimit(t *testing.T) {
	throttle := func(x float64, steps ...assertions.Step) []assertions.Step {
		for i := range steps {
			steps[i].Throttle = x
		}
		return steps
	}
	// 45 deg/s of error: 6 % of shift.
	tests := []struct {
		name  string
		is    law.AtTheLimit
		board board
		steps []assertions.Step
		want  []string
	}{
		{"raised motor capped, partner as ever", law.LimitCap, good, throttle(0.9, onDemand(1), held(1, 0.5)),
			[]string{"at the limit: outside_rear stands at its limit: pass", "at the limit: inside_front as its partner is limited: pass"}},
		{"raised motor capped, partner doubled", law.LimitMovePartner, good, throttle(0.9, onDemand(1), held(1, 0.5)),
			[]string{"at the limit: outside_rear stands at its limit: pass", "at the limit: inside_front as its partner is limited: pass"}},
		{"lowered motor at the floor, partner doubled", law.LimitMovePartner, good, throttle(0.03, onDemand(-1), held(-1, 1.5)),
			[]string{"at the limit: outside_front as its partner is limited: pass", "at the limit: outside_rear stands at its limit: pass"}},
		{"nothing moves", law.LimitCap, equal, throttle(0.88, onDemand(1), held(1, 0.5)),
			[]string{"at the limit: outside_rear stands at its limit: fail", "at the limit: inside_front as its partner is limited: fail"}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			p := passingOn()
			p.AtTheLimit = tt.is
			e := bench{board: tt.board, policy: p, spread: 0.0005}.play(tt.steps...)
			assert.Equal(t, tt.want, verdicts(assertions.Judge(assertions.PolicyBranch{Of: "at_the_limit"}, e)))
		})
	}
	t.Run("the policy's floor", func(t *testing.T) {
		p := passingOn()
		p.Floor = new(0.1)
		e := bench{board: good, policy: p, spread: 0.0005}.play(throttle(0.13, onDemand(1), held(1, 0.5))...)
		assert.Equal(t, []string{
			"at the limit: outside_rear as its partner is limited: pass", "at the limit: inside_front stands at its limit: pass",
		}, verdicts(assertions.Judge(assertions.PolicyBranch{Of: "at_the_limit"}, e)))
	})
	t.Run("only the partner is doubled", func(t *testing.T) {
		p := passingOn()
		p.AtTheLimit = law.LimitMovePartner
		e := bench{board: equal, policy: p}.play(throttle(0.88, onDemand(1), held(1, 0.5))...)
		r := byName(t, assertions.Judge(assertions.PolicyBranch{Of: "at_the_limit"}, e), "at the limit: outside_rear stands at its limit")
		assert.Equal(t, assertions.Fail, r.Verdict)
		assert.Contains(t, r.Why, "the declared shift of 6 % would take a motor past")
	})
	t.Run("a raised motor without partner", func(t *testing.T) {
		p := passingOn()
		p.Understeer.Lower = nil
		e := bench{board: good, policy: p}.play(throttle(0.9, onDemand(1), held(1, 0.5))...)
		assert.Equal(t, []string{"at the limit: outside_rear stands at its limit: pass"},
			verdicts(assertions.Judge(assertions.PolicyBranch{Of: "at_the_limit"}, e)))
	})
	t.Run("a policy without that branch", func(t *testing.T) {
		p := passingOn()
		p.Understeer = nil
		e := bench{board: good, policy: p}.play(throttle(0.9, onDemand(1), held(1, 0.5))...)
		assert.Equal(t, assertions.NotAsked, assertions.Worst(assertions.Judge(assertions.PolicyBranch{Of: "at_the_limit"}, e)))
	})
	t.Run("a throttle curve that is not declared", func(t *testing.T) {
		// The throttle of 90 % comes to 80 %, which leaves room for the shift.
		bent := func(of board) board {
			return func(s assertions.Step, p *law.Policy) [4]float64 {
				s.Throttle -= 0.1
				return of(s, p)
			}
		}
		for _, tt := range []struct {
			name  string
			curve law.ThrottleCurve
			board board
			want  []string
		}{
			{"it moves as declared", 0, bent(good), []string{
				"at the limit: outside_rear stands at its limit, or moves as declared where there is room: pass",
				"at the limit: inside_front as its partner is limited, or moves as declared where there is room: pass"}},
			{"it does not move", 0, bent(equal), []string{
				"at the limit: outside_rear stands at its limit, or moves as declared where there is room: fail",
				"at the limit: inside_front as its partner is limited, or moves as declared where there is room: fail"}},
			{"none is declared", law.ThrottleCurveNone, bent(good), []string{
				"at the limit: outside_rear stands at its limit: undecided",
				"at the limit: inside_front as its partner is limited: undecided"}},
		} {
			t.Run(tt.name, func(t *testing.T) {
				p := policy()
				p.ThrottleCurve = tt.curve
				e := bench{board: tt.board, policy: p, spread: 0.0005}.play(throttle(0.9, onDemand(1), held(1, 0.5))...)
				assert.Equal(t, tt.want, verdicts(assertions.Judge(assertions.PolicyBranch{Of: "at_the_limit"}, e)))
			})
		}
	})
	t.Run("it stands a step of the firmware below the cap", func(t *testing.T) {
		below := func(s assertions.Step, p *law.Policy) [4]float64 {
			s.Throttle = 0.918
			return good(s, p)
		}
		p := passingOn()
		p.Resolution = new(0.009)
		p.ShiftAt.Grows, p.ShiftAt.Most = law.GrowthSaturating, 0.3
		e := bench{board: below, policy: p, spread: 0.0005}.play(throttle(1, onDemand(1), held(1, 0.5))...)
		assert.Equal(t, []string{
			"at the limit: outside_rear stands at its limit: pass", "at the limit: inside_front as its partner is limited: pass",
		}, verdicts(assertions.Judge(assertions.PolicyBranch{Of: "at_the_limit"}, e)))
	})
	t.Run("one policy is not the other", func(t *testing.T) {
		p := passingOn()
		e := bench{board: good, policy: p}.play(throttle(0.9, onDemand(1), held(1, 0.5))...)
		p.AtTheLimit = law.LimitMovePartner
		r := byName(t, assertions.Judge(assertions.PolicyBranch{Of: "at_the_limit"}, e), "at the limit: inside_front as its partner is limited")
		assert.Equal(t, assertions.Fail, r.Verdict)
		assert.InDelta(t, -12, (r.Must().Limit.Low+r.Must().Limit.High)/2, 1e-9)
	})
}

// Where all shifts are made smaller by one factor the sum is kept at either limit too, however large a shift is declared to be.
func TestTheSumOfShiftsThatAreScaled(t *testing.T) {
	p := policy()
	p.AtTheLimit, p.ShiftAt.Grows, p.ShiftAt.Most = law.LimitScale, law.GrowthIntegrating, 0.3
	const name = "at the limit: sum kept, as all shifts are scaled"
	moved := func(by [4]float64) []assertions.Result {
		board := func(s assertions.Step, p *law.Policy) [4]float64 {
			m := equal(s, p)
			for w := range m {
				if !s.Baseline {
					m[w] += by[w]
				}
			}
			return m
		}
		return assertions.Judge(assertions.PolicyBranch{Of: "at_the_limit"}, bench{board: board, policy: p, spread: 0.0005}.play(asked["at_the_limit"]...))
	}
	scaled, alone := [4]float64{plant.FrontLeft: -0.04, plant.RearRight: 0.04}, [4]float64{plant.FrontLeft: -0.3, plant.RearRight: 0.04}
	assert.Equal(t, assertions.Pass, byName(t, moved(scaled), name).Verdict)
	assert.Equal(t, assertions.Fail, byName(t, moved(alone), name).Verdict)
	p.AtTheCap = law.LimitMovePartner
	for _, r := range moved(alone) {
		assert.NotContains(t, r.Name, "sum")
	}
	p.AtTheCap, p.SumKept = 0, false
	for _, r := range moved(alone) {
		assert.NotContains(t, r.Name, "sum")
	}
}

// At a limit the sum need not be kept.
func TestNoSumIsAskedAtTheLimit(t *testing.T) {
	e := bench{board: good, policy: policy()}.play(asked["at_the_limit"]...)
	for _, r := range assertions.Judge(assertions.PolicyBranch{Of: "understeer"}, e) {
		assert.NotContains(t, r.Name, "sum")
	}
	// Without a declared size, the room that the throttle leaves tells; a motor without much is not asked.
	p := policy()
	p.ShiftAt = nil
	e = bench{board: good, policy: p}.play(asked["at_the_limit"]...)
	assert.Len(t, assertions.Judge(assertions.PolicyBranch{Of: "understeer"}, e), 3)
	e = bench{board: good, policy: p}.play(asked["understeer"]...)
	assert.Len(t, assertions.Judge(assertions.PolicyBranch{Of: "understeer"}, e), 5)
}

// Where no size is declared the partner of a motor without room may go all the way to the end of its range, which is read
// no better than a shift.
func TestAPartnerMayStandAtTheEndOfItsRange(t *testing.T) {
	p := policy()
	p.ShiftAt, p.AtTheLimit, p.ThrottleCurve = nil, law.LimitMovePartner, law.ThrottleCurveNone
	b := func(to float64) board {
		return func(s assertions.Step, p *law.Policy) [4]float64 {
			m := equal(s, p)
			if !s.Baseline {
				m[0] = to
			}
			return m
		}
	}
	full := func(s *assertions.Step) { s.Throttle = 0.92 }
	for to, want := range map[float64]assertions.Verdict{0: assertions.Pass, 0.3: assertions.Pass, 0.92: assertions.Fail} {
		e := bench{board: b(to), policy: p}.play(with(onDemand(1), full), with(held(1, 0.4), full))
		r := byName(t, assertions.Judge(assertions.PolicyBranch{Of: "at_the_limit"}, e), "at the limit: inside_front as its partner is limited")
		assert.Equal(t, want, r.Verdict, "%v: %+v", to, r)
	}
}

// A motor that goes to and fro by one of the firmware's own steps, and so slowly that few changes are seen, stands between
// the two. Where the policy does not say how coarse they are, firmware may step by as much as counts as no shift, and by no more.
func TestMotorsEqualOfOneThatGoesToAndFroByAStep(t *testing.T) {
	p := policy()
	for _, resolution := range []*float64{new(0.005), nil} {
		p.Resolution = resolution
		toAndFro(t, p, map[float64]assertions.Verdict{0.005: assertions.Pass, 0.02: assertions.Undecided})
	}
	p.Resolution = new(0.002)
	toAndFro(t, p, map[float64]assertions.Verdict{0.005: assertions.Undecided})
}

// toAndFro judges motors of which one goes to and fro by so much.
func toAndFro(t *testing.T, p *law.Policy, of map[float64]assertions.Verdict) {
	t.Helper()
	for by, want := range of {
		e := bench{board: equal, policy: p}.play(with(onDemand(1), func(s *assertions.Step) { s.Gain = 0 }), held(1, 1))
		frames := e.Trace.Motor[1].Frames
		for k := range frames {
			if since := frames[k].End - e.Steps[1].From; since > 150*signal.Millisecond && since < 300*signal.Millisecond {
				frames[k].Value += by
			}
		}
		r := byName(t, assertions.Judge(assertions.PolicyBranch{Of: "on_demand"}, e), "on demand: motors equal")
		assert.Equal(t, want, r.Verdict, "%v: %+v", by, r)
	}
}
