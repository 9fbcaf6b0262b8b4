package assertions_test

import (
	"math"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/assertions"
	"hilrig/assertions/law"
	"hilrig/plant"
	"hilrig/rig/signal"
)

// levels is a board that plays one set of commands in the baseline, then one
// for each further step.
func levels(of ...[4]float64) board {
	next := 0
	return func(assertions.Step, *law.Policy) [4]float64 {
		m := of[next%len(of)]
		next++
		return m
	}
}

func all(x float64) [4]float64 { return [4]float64{x, x, x, x} }

// named returns a held step with a name.
func named(name string, turn float64) assertions.Step {
	return with(held(turn, 0.5), func(s *assertions.Step) { s.Name = name })
}

const (
	pass      = assertions.Pass
	fail      = assertions.Fail
	undecided = assertions.Undecided
)

var rear = []law.Corner{law.OutsideRear}

// Each check with a board that keeps it, one that breaks it, and one that
// leaves it undecided. In a turn to the left the outside rear is rear right,
// the last of four.
func TestChecks(t *testing.T) {
	shifted := func(is assertions.Sense) assertions.Check { return assertions.Shifted{Motors: rear, Is: is} }
	moved := func(by float64) [4]float64 { m := all(0.4); m[3] += by; return m }
	scaled := assertions.Scaled{Motors: rear, Of: "a", Times: 2, Within: 0.1}
	mirror := assertions.Mirrored{A: "a", B: "b", Within: 0.01}
	tests := []struct {
		name   string
		check  assertions.Check
		levels [][4]float64 // baseline, then step a, then step b
		spread float64
		want   assertions.Verdict
		why    string
	}{
		{"raised", shifted(assertions.Raised), [][4]float64{all(0.4), moved(0.05)}, 0.001, pass, ""},
		{"raised the wrong way", shifted(assertions.Raised), [][4]float64{all(0.4), moved(-0.05)}, 0.001, fail, "was lowered"},
		{"raised by less than counts", shifted(assertions.Raised), [][4]float64{all(0.4), moved(0.005)}, 0.001, fail, "did not move"},
		{"raised by as much as counts", shifted(assertions.Raised), [][4]float64{all(0.4), moved(0.0105)}, 0.01, undecided, "observe longer"},
		{"lowered", shifted(assertions.Lowered), [][4]float64{all(0.4), moved(-0.05)}, 0.001, pass, ""},
		{"lowered the wrong way", shifted(assertions.Lowered), [][4]float64{all(0.4), moved(0.05)}, 0.001, fail, "was raised"},
		{"lowered on the edge", shifted(assertions.Lowered), [][4]float64{all(0.4), moved(-0.01)}, 0, undecided, "a faster sampler"},
		{"unchanged", shifted(assertions.Unchanged), [][4]float64{all(0.4), moved(0.003)}, 0.001, pass, ""},
		{"unchanged but moved", shifted(assertions.Unchanged), [][4]float64{all(0.4), moved(0.02)}, 0.001, fail, "was raised"},
		{"unchanged in a storm", shifted(assertions.Unchanged), [][4]float64{all(0.4), moved(0)}, 0.2, undecided, "±"},
		{"raised too near to tell", shifted(assertions.Raised), [][4]float64{all(0.4), moved(0.0045)}, 0.04, undecided, "observe much longer"},
		{"no such sense", shifted("sideways"), [][4]float64{all(0.4), moved(0)}, 0, undecided, "no sense"},

		{"sum kept", assertions.SumKept{}, [][4]float64{all(0.4), {0.3, 0.5, 0.45, 0.35}}, 0.001, pass, ""},
		{"sum not kept", assertions.SumKept{}, [][4]float64{all(0.4), moved(0.03)}, 0.001, fail, "total drive"},
		{"sum within more", assertions.SumKept{Within: 0.05}, [][4]float64{all(0.4), moved(0.03)}, 0.001, pass, ""},
		{"sum on the edge", assertions.SumKept{Within: 0.03}, [][4]float64{all(0.4), moved(0.03)}, 0.001, undecided, "limit"},

		{"in range", assertions.InRange{Motors: rear, Low: 0.4, High: 0.5}, [][4]float64{all(0), moved(0)}, 0, pass, ""},
		{"above the range", assertions.InRange{Motors: rear, Low: 0.1, High: 0.4}, [][4]float64{all(0), moved(0.1)}, 0, fail, "above 40 % (80 of 80 commands)"},
		{"below the range", assertions.InRange{Motors: rear, Low: 0.1, High: 0.4}, [][4]float64{all(0), moved(-0.4)}, 0, fail, "below 10 %"},
		{"on the range's edge", assertions.InRange{Motors: rear, Low: 0.1, High: 0.4}, [][4]float64{all(0), moved(0.0022)}, 0, undecided, "sample faster"},

		{"equal", assertions.Equal{Motors: law.Corners[:4], Within: 0.01}, [][4]float64{all(0), moved(0.005)}, 0.001, pass, ""},
		{"equal by the dead shift", assertions.Equal{Motors: law.Corners[:4]}, [][4]float64{all(0), moved(0.005)}, 0.001, pass, ""},
		{"not equal", assertions.Equal{Motors: law.Corners[:4], Within: 0.01}, [][4]float64{all(0), moved(0.02)}, 0.001, fail, "rear_right stands 2"},
		{"equal on the edge", assertions.Equal{Motors: law.Corners[:4], Within: 0.01}, [][4]float64{all(0), moved(0.01)}, 0.001, undecided, "limit"},
		{"equal to itself says nothing", assertions.Equal{Motors: rear, Within: 0.01}, [][4]float64{all(0), moved(0)}, 0, undecided, "at least two"},

		{"mirrored", mirror, [][4]float64{all(0.4), {0.3, 0.4, 0.4, 0.5}, {0.4, 0.3, 0.5, 0.4}}, 0.001, pass, ""},
		{"mirrored in its shifts", mirror, [][4]float64{{0.3, 0.4, 0.4, 0.4}, {0.2, 0.4, 0.4, 0.5}, {0.3, 0.3, 0.5, 0.4}}, 0.001, pass, ""},
		{"not mirrored", mirror, [][4]float64{all(0.4), {0.3, 0.4, 0.4, 0.5}, {0.4, 0.3, 0.45, 0.4}}, 0.001, fail, "favours one side"},
		{"mirrored on the edge", mirror, [][4]float64{all(0.4), moved(0.05), {0.4, 0.4, 0.44, 0.4}}, 0.001, undecided, "limit"},

		{"scaled", scaled, [][4]float64{all(0.4), moved(0.03), moved(0.06)}, 0.0005, pass, ""},
		{"scaled downwards", scaled, [][4]float64{all(0.4), moved(-0.03), moved(-0.06)}, 0.0005, pass, ""},
		{"not scaled", scaled, [][4]float64{all(0.4), moved(0.03), moved(0.03)}, 0.0005, fail, "should be 2 times"},
		{"scaled on the edge", scaled, [][4]float64{all(0.4), moved(0.03), moved(0.066)}, 0.0005, undecided, "limit"},
		{"nothing to scale", scaled, [][4]float64{all(0.4), moved(0), moved(0)}, 0.0005, fail, "the shift never moved"},
		{"hardly anything to scale", scaled, [][4]float64{all(0.4), moved(0.01), moved(0.02)}, 0.001, undecided, "not clearly"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			steps := []assertions.Step{onDemand(1), named("a", 1)}
			if len(tt.levels) > 2 {
				steps = append(steps, named("b", 1))
				if _, ok := tt.check.(assertions.Mirrored); ok {
					steps[2] = named("b", -1)
				}
			}
			e := bench{board: levels(tt.levels...), policy: &law.Policy{}, spread: tt.spread}.play(steps...)
			results := assertions.Judge(tt.check, e)
			assert.Equal(t, tt.want, assertions.Worst(results), "%+v", results)
			for _, r := range results {
				if r.Verdict == tt.want {
					assert.Contains(t, r.Why, tt.why)
				}
				assert.Equal(t, r.Verdict != pass, r.Why != "", "what is no pass says why: %+v", r)
				assert.NotEmpty(t, r.Name)
				assert.NotEmpty(t, r.Step)
			}
		})
	}
}

// A steady command still has its resolution and what the sampler left open,
// once in the step and once in the baseline.
func TestSteadyCommandKeepsItsUncertainty(t *testing.T) {
	e := bench{board: levels(all(0.4), all(0.45)), policy: policy()}.play(onDemand(1), held(1, 0.5))
	r := assertions.Judge(assertions.Shifted{Motors: rear, Is: assertions.Raised}, e)[0]
	u := 100 * math.Sqrt(2*(0.001*0.001/12+0.0005*0.0005/3))
	assert.InDelta(t, 4*u, r.Must().High-r.Must().Low, 1e-9)
	r = assertions.Judge(assertions.SumKept{}, e)[0]
	assert.InDelta(t, 20, r.Must().Estimate, 1e-9, "of one motor's range")
	assert.InDelta(t, 8*u, r.Must().High-r.Must().Low, 1e-9)
}

// The interval of a ratio of shifts holds the true ratio as often as it
// should: its two shifts share one baseline.
func TestScaledIntervalCovers(t *testing.T) {
	held, runs := 0, 500
	for seed := range uint64(runs) {
		a, b := all(0.4), all(0.4)
		a[3], b[3] = 0.45, 0.60
		e := bench{board: levels(all(0.4), a, b), policy: policy(), spread: 0.02, window: 100 * signal.Millisecond, seed: seed}.
			play(onDemand(1), named("a", 1), named("b", 1))
		r := assertions.Judge(assertions.Scaled{Motors: rear, Of: "a", Times: 4, Within: 0.5}, e)[0]
		require.Equal(t, "times", r.Must().Unit)
		if r.Must().Low <= 4 && 4 <= r.Must().High {
			held++
		}
	}
	t.Logf("%d of %d", held, runs)
	assert.Greater(t, held, runs*93/100)
	assert.Less(t, held, runs*98/100)
}

func TestMirroredWithoutBaselineComparesCommands(t *testing.T) {
	check := assertions.Mirrored{A: "a", B: "b"}
	play := func(m ...[4]float64) []assertions.Result {
		return assertions.Judge(check, bench{board: levels(m...), policy: policy()}.play(named("a", 1), named("b", -1)))
	}
	assert.Equal(t, pass, assertions.Worst(play([4]float64{0.3, 0.4, 0.4, 0.5}, [4]float64{0.4, 0.3, 0.5, 0.4})))
	assert.Equal(t, fail, assertions.Worst(play(all(0.3), all(0.4))))
	same := assertions.Judge(check, bench{board: equal, policy: policy()}.play(named("a", 1), named("b", 1)))
	assert.Equal(t, undecided, assertions.Worst(same))
	assert.Contains(t, same[0].Why, "no mirror images")
}

// What a shift gathered in one turn is still there in the next, so that a step and its mirror image are alike only by and by.
func TestAShiftThatGathersIsNotMirrored(t *testing.T) {
	gathering := policy()
	gathering.ShiftAt.Grows, gathering.ShiftAt.Most = law.GrowthIntegrating, 0.3
	unsaid := policy()
	unsaid.ShiftAt = nil
	for _, p := range []*law.Policy{gathering, unsaid} {
		left, before := [4]float64{0.2, 0.4, 0.4, 0.6}, [4]float64{0.35, 0.4, 0.4, 0.45}
		play := func(within float64) []assertions.Result {
			check := assertions.Mirrored{A: "a", B: "b", Within: within}
			return assertions.Judge(check, bench{board: levels(all(0.4), left, before), policy: p}.play(onDemand(1), named("a", 1), named("b", -1)))
		}
		for _, r := range play(0) {
			assert.Equal(t, assertions.NotAsked, r.Verdict)
			assert.Contains(t, r.Why, "may gather with time")
		}
		assert.Equal(t, fail, assertions.Worst(play(0.02)), "asked for by hand")
	}
}

// A place that is shifted in the one baseline alone, by firmware whose demand is not quite that of the policy, moves by the
// opposite in both turns.
func TestAPlaceShiftedInTheBaselineAloneIsNotMirrored(t *testing.T) {
	p := policy()
	p.Demand.Within = 0.075
	p.ShiftAt.Grows, p.ShiftAt.Most = law.GrowthSaturating, 0.9
	p.Understeer = &law.Split{Raise: []law.Corner{law.OutsideFront, law.OutsideRear}, Lower: []law.Corner{law.InsideFront, law.InsideRear}}
	p.Oversteer = &law.Split{Raise: []law.Corner{law.InsideRear}, Lower: []law.Corner{law.OutsideRear}}
	out := func(s assertions.Step, p *law.Policy) [4]float64 {
		s.Demand *= 1.07
		return good(s, p)
	}
	a, b := held(1, 1.6), held(-1, 1.6)
	a.Name, b.Name = "a", "b"
	steps := []assertions.Step{onDemand(1), a, b}
	for i := range steps {
		steps[i].Gain = 1
	}
	results := assertions.Judge(assertions.Mirrored{A: "a", B: "b"}, bench{board: out, policy: p}.play(steps...))
	assert.Equal(t, []string{
		"outside_front mirrored: not asked", "inside_front mirrored: not asked", "outside_rear mirrored: pass", "inside_rear mirrored: pass",
	}, verdicts(results))
}

func TestChecksWithoutTheirStep(t *testing.T) {
	e := bench{board: good, policy: policy()}.play(asked["understeer"]...)
	for _, c := range []assertions.Check{
		assertions.Shifted{Motors: rear, Is: assertions.Raised, Step: "gone"},
		assertions.SumKept{Step: "gone"},
		assertions.InRange{Motors: rear, High: 1, Step: "gone"},
		assertions.Equal{Motors: rear, Step: "gone"},
		assertions.Mirrored{A: "gone", B: "hold"},
		assertions.Mirrored{A: "hold", B: "gone"},
		assertions.Scaled{Motors: rear, Of: "gone", Times: 1},
		assertions.PolicyBranch{Of: "cap", Step: "gone"},
	} {
		results := assertions.Judge(c, e)
		require.NotEmpty(t, results)
		assert.Equal(t, undecided, assertions.Worst(results), "%#v", c)
		assert.Contains(t, results[0].Why, `"gone"`)
	}
	for _, c := range []assertions.Check{
		assertions.Shifted{Is: assertions.Raised}, assertions.InRange{High: 1}, assertions.Equal{}, assertions.Scaled{Of: "hold"},
		assertions.Shifted{Motors: []law.Corner{"fifth_wheel"}, Is: assertions.Unchanged},
	} {
		assert.Equal(t, undecided, assertions.Worst(assertions.Judge(c, e)), "%#v", c)
	}
}

func TestNoTurnHasNoOutside(t *testing.T) {
	straight := with(held(1, 0.5), func(s *assertions.Step) { s.Steer, s.YawRate = 0, 0 })
	e := bench{board: equal, policy: &law.Policy{}}.play(onDemand(1), straight)
	r := assertions.Judge(assertions.Shifted{Motors: rear, Is: assertions.Raised}, e)[0]
	assert.Equal(t, undecided, r.Verdict)
	assert.Contains(t, r.Why, "straight")
	assert.Equal(t, pass, assertions.Worst(assertions.Judge(assertions.Shifted{Motors: rear, Is: assertions.Unchanged}, e)))
	e.Policy = policy()
	assert.Contains(t, verdicts(assertions.Judge(assertions.PolicyBranch{Of: "on_demand"}, e)), "on demand: rear_left unchanged: pass")
}

func TestTooFewFramesIsUndecided(t *testing.T) {
	e := bench{board: good, policy: policy(), window: 2 * every}.play(asked["understeer"]...)
	r := assertions.Judge(assertions.Shifted{Motors: rear, Is: assertions.Raised}, e)[0]
	assert.Equal(t, undecided, r.Verdict)
	assert.Equal(t, "observe longer: 10 ms brought 2 commands of motor_rear_right, and it takes 3", r.Why)
}

// Nobody who plays a suite that is given can observe for longer in it: what else would decide is told.
func TestTheRemedyOfAGivenSuiteIsOneThatItsPlayerHas(t *testing.T) {
	for _, row := range []struct {
		name   string
		window signal.Time
		spread float64
		want   string
	}{
		{"scattered", 400 * signal.Millisecond, 0.015, `^too near the limit to be decided in the window that the suite gives: 400 ms gives ±[\d.]+ %; leave more than [\d.]+ % more room in the policy, or quieten what makes the command spread$`},
		{"on the edge", 400 * signal.Millisecond, 0, `^too near the limit to be decided: ±[\d.]+ % is left by .*; move the limit by more than [\d.]+ %, which in a policy is to leave that much more room, or have finer steps or a faster sampler$`},
		{"few", 2 * every, 0, `^play a copy of this suite with a longer observe: 10 ms brought 2 commands of motor_rear_right, and it takes 3$`},
	} {
		m := all(0.4)
		m[3] += 0.01
		e := bench{board: levels(all(0.4), m), policy: &law.Policy{}, spread: row.spread, window: row.window}.play(onDemand(1), held(1, 0.5))
		e.Given = true
		r := assertions.Judge(assertions.Shifted{Motors: rear, Is: assertions.Raised}, e)[0]
		assert.Equal(t, undecided, r.Verdict, row.name)
		assert.Regexp(t, row.want, r.Why, row.name)
	}
}

func TestNoFrameInTheBaselineFails(t *testing.T) {
	e := bench{board: good, policy: policy()}.play(asked["understeer"]...)
	frames := &e.Trace.Motor[plant.RearRight].Frames
	*frames = e.Trace.Motor[plant.RearRight].Between(e.Steps[1].From, e.Steps[1].To)
	r := assertions.Judge(assertions.Shifted{Motors: rear, Is: assertions.Raised}, e)[0]
	assert.Equal(t, fail, r.Verdict)
	assert.Equal(t, "motor_rear_right sent no command in the window of the baseline", r.Why)
	assert.Equal(t, "baseline", r.Step)
}

// The remedy is held to its word: who observes for as long as it says gets a
// decision, save where the estimate, as it settles, comes nearer to its limit.
func TestFollowingTheRemedyDecides(t *testing.T) {
	long := regexp.MustCompile(`^observe longer: 400 ms gives ±[\d.]+ %, ([\d.]+ m?s) would decide$`)
	play := func(window signal.Time, seed uint64) assertions.Result {
		m := all(0.4)
		m[3] += 0.0125
		e := bench{board: levels(all(0.4), m), policy: &law.Policy{}, spread: 0.015, window: window, seed: seed}.play(onDemand(1), held(1, 0.5))
		return assertions.Judge(assertions.Shifted{Motors: rear, Is: assertions.Raised}, e)[0]
	}
	followed, decided := 0, 0
	for seed := range uint64(60) {
		r := play(400*signal.Millisecond, seed)
		if r.Verdict != undecided || !long.MatchString(r.Why) {
			continue
		}
		window, err := time.ParseDuration(strings.ReplaceAll(long.FindStringSubmatch(r.Why)[1], " ", ""))
		require.NoError(t, err)
		require.Greater(t, window, 400*time.Millisecond)
		followed++
		if play(signal.Time(window), seed).Verdict != undecided {
			decided++
		}
	}
	t.Logf("%d of %d decided", decided, followed)
	require.Greater(t, followed, 20)
	assert.Greater(t, decided, followed*2/3)
}
