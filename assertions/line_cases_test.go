package assertions_test

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/assertions"
	"hilrig/assertions/law"
	"hilrig/plant"
	"hilrig/rig/signal"
	"hilrig/rig/trace"
)

// ramps are the throttles of the steps of those names.
var ramps = map[string][2]float64{"ramp": {0, 1}, "sweep": {0.2, 0.8}}

// at returns a step of that name whose yaw rate is a share of the demand.
func at(name string, share float64) assertions.Step {
	return stretch(titled(name, held(1, share)), 200*ms, 300*ms)
}

func moving(s assertions.Step) assertions.Step {
	s.Moving = true
	return s
}

func swept(s assertions.Step, c trace.Channel) assertions.Step {
	s.Swept, s.Changed = true, c
	return s
}

func nearFull(s assertions.Step) assertions.Step {
	s.Throttle = 0.9
	return s
}

// throttleAt holds a throttle with nothing to be shifted.
func throttleAt(name string, throttle float64) assertions.Step {
	s := at(name, 1)
	s.Throttle, s.Gain = throttle, 0
	return s
}

// lineCases are the steps of a case of each situation of the healthy wires.
var lineCases = map[string][]assertions.Step{
	"proportional": {base(), at("small", 0.9), at("middle", 0.7), at("large", 0.5)},
	"monotone":     {base(), at("large", 0.5), at("small", 0.9), at("middle", 0.7)},
	"dead_band":    {base(), at("beyond", 0.5), at("inside", 0.9)},
	"no_wrap":      {moving(stretch(titled("ramp", held(1, 0.5)), 300*ms, 2*signal.Second))},
	"no_wind_up": {
		nearFull(base()), nearFull(stretch(titled("long", held(1, 0.5)), 0, signal.Second)),
		nearFull(stretch(titled("back", held(1, 1)), 0, 400*ms)),
	},
	"outputs_together": {at("hold", 0.7)},
	"throttle_curve":   {throttleAt("10", 0.1), throttleAt("30", 0.3), throttleAt("50", 0.5), throttleAt("70", 0.7), throttleAt("90", 0.9)},
	"resolution":       {swept(stretch(titled("sweep", held(1, 0.7)), 300*ms, 6*signal.Second), trace.Throttle)},
}

// linePolicy is the policy of those cases: only that of the dead band has one, and only that of the throttle's curve
// calls it calibrated.
func linePolicy(of string) *law.Policy {
	p := lossPolicy()
	if of == "dead_band" {
		p.DeadBand = new(20 * deg)
	}
	if of == "throttle_curve" {
		p.ThrottleCurve = law.ThrottleCurveCalibrated
	}
	return p
}

func asDeclared(f *firmware) {
	if *f.policy.DeadBand > 0 {
		f.band = *f.policy.DeadBand
	}
}

func TestGoodFirmwarePassesEachLine(t *testing.T) {
	for of, steps := range lineCases {
		t.Run(of, func(t *testing.T) {
			results := judge(of, "", linePolicy(of), asDeclared, steps...)
			assert.Equal(t, assertions.Pass, assertions.Worst(results), "%+v", results)
			for _, r := range results {
				assert.True(t, r.Measured(), r.Name)
			}
		})
	}
}

func TestLinesThatAreNotKept(t *testing.T) {
	tests := []struct {
		name, of string
		change   func(*firmware)
		why      string
	}{
		{"curved", "proportional", func(f *firmware) { f.bends = true }, "line"},
		{"no dead band", "dead_band", func(f *firmware) { f.band = 0 }, "above inside_front"},
		{"dead band far too wide", "dead_band", func(f *firmware) { f.band = 60 * deg }, "the shift never moved"},
		{"wraps below zero", "no_wrap", func(f *firmware) { f.wraps = true }, "jumped from"},
		{"winds up", "no_wind_up", func(f *firmware) { f.windsUp = true }, "the error had been held for 1 s"},
		{"staggered", "outputs_together", func(f *firmware) { f.stagger = 300 * signal.Microsecond }, "900 us after"},
		{"coarse", "resolution", func(f *firmware) { f.coarse = 0.02 }, "the sweep itself goes in smaller steps"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			results := judge(tt.of, "", linePolicy(tt.of), tt.change, lineCases[tt.of]...)
			require.Equal(t, assertions.Fail, assertions.Worst(results), "%+v", results)
			var why strings.Builder
			for _, r := range results {
				if r.Verdict == assertions.Fail {
					why.WriteString(r.Why)
				}
			}
			assert.Contains(t, why.String(), tt.why)
		})
	}
}

func TestNullBoardsFailEachLine(t *testing.T) {
	boards := map[string]func(*firmware){"silent": silentBoard, "constant idle": idleBoard, "equal torque": equalBoard, "random": randomBoard}
	rightly := map[string]assertions.Verdict{
		"outputs_together constant idle": assertions.Pass, // what is sent does begin together
		"outputs_together equal torque":  assertions.Pass,
		"outputs_together random":        assertions.Pass,
		"throttle_curve constant idle":   assertions.Pass, // it can be told; that it does not rise, answers_throttle finds
		"throttle_curve equal torque":    assertions.Pass,
		"resolution equal torque":        assertions.Pass, // the throttle is passed on finely
	}
	for of, steps := range lineCases {
		for name, change := range boards {
			t.Run(of+" "+name, func(t *testing.T) {
				want := assertions.Fail
				if v, ok := rightly[of+" "+name]; ok {
					want = v
				}
				results := judge(of, "", linePolicy(of), change, steps...)
				if name == "random" && want == assertions.Fail {
					assert.NotEqual(t, assertions.Pass, assertions.Worst(results), "%+v", results)
					return
				}
				assert.Equal(t, want, assertions.Worst(results), "%+v", results)
			})
		}
	}
}

func TestLinesThatShowNothingAreUndecided(t *testing.T) {
	tests := []struct {
		name, of string
		steps    []assertions.Step
		why      string
		notAsked bool // the policy asks nothing of such a step
	}{
		{"two errors make no line", "proportional", []assertions.Step{base(), at("a", 0.7), at("b", 0.5)}, "hold at least 3", false},
		{"no error", "proportional", []assertions.Step{base(), at("a", 1)}, "hold a yaw error", true},
		{"one error", "monotone", []assertions.Step{base(), at("a", 0.5)}, "two steps", false},
		{"no step beyond", "dead_band", []assertions.Step{base(), at("inside", 0.9)}, "no step with a yaw error beyond", false},
		{"hardly beyond", "dead_band", []assertions.Step{base(), at("beyond", 0.75)}, "no motor for a clear shift", true},
		{"throttle held", "no_wrap", []assertions.Step{at("hold", 0.5)}, "does not go through its range", false},
		{"throttle leaps itself", "no_wrap", []assertions.Step{moving(stretch(titled("ramp", held(1, 0.5)), 300*ms, 150*ms))}, "too fast", false},
		{"no shift asked", "no_wrap", []assertions.Step{moving(stretch(titled("ramp", held(1, 1)), 300*ms, 2*signal.Second))}, "hold a yaw error", false},
		{"too short", "no_wind_up", []assertions.Step{nearFull(base()), nearFull(at("long", 0.5)), nearFull(stretch(titled("back", held(1, 1)), 0, 400*ms))}, "too short", false},
		{"not at a limit", "no_wind_up", []assertions.Step{base(), stretch(titled("long", held(1, 0.5)), 0, signal.Second), stretch(titled("back", held(1, 1)), 0, 400*ms)}, "comes to its limit", true},
		{"still an error", "no_wind_up", []assertions.Step{nearFull(base()), nearFull(stretch(titled("long", held(1, 0.5)), 0, signal.Second)), nearFull(at("back", 0.8))}, "back on demand", false},
		{"nothing swept", "resolution", []assertions.Step{at("hold", 0.5)}, "nothing is swept", false},
		{"swept too fast", "resolution", []assertions.Step{swept(stretch(titled("sweep", held(1, 0.7)), 300*ms, signal.Second), trace.Throttle)}, "sweep slower", false},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			results := judge(tt.of, "", linePolicy(tt.of), asDeclared, tt.steps...)
			want := assertions.Undecided
			if tt.notAsked {
				want = assertions.NotAsked
			}
			assert.Equal(t, want, assertions.Worst(results), "%+v", results)
			assert.Contains(t, results[0].Why, tt.why)
		})
	}
}

func TestWhatElseThePolicyLeavesOutIsNotAsked(t *testing.T) {
	empty := &law.Policy{}
	for _, cases := range []map[string][]assertions.Step{faultCases, lineCases} {
		for of, steps := range cases {
			if of == "no_wrap" { // no key is needed for it
				continue
			}
			tp := tape{firmware: newFirmware(lossPolicy(), nil), ramps: ramps}
			e := tp.play(steps...)
			e.Policy = empty
			results := assertions.Judge(assertions.PolicyBranch{Of: of}, e)
			require.Len(t, results, 1, of)
			assert.Equal(t, assertions.NotAsked, results[0].Verdict, "%+v", results)
			assert.Contains(t, results[0].Why, "the policy has no")
		}
	}
}

// The measured curve holds what was commanded at the levels and what bends between them, and says nothing below them.
func TestTheMeasuredCurve(t *testing.T) {
	curved := func(x float64) float64 { return x - 0.6*x*(1-x) }
	e := played(linePolicy("throttle_curve"), func(f *firmware) {
		f.null = func(x float64, _ *rand.Rand) ([4]float64, bool) {
			return [4]float64{curved(x), curved(x), curved(x), curved(x)}, true
		}
	}, lineCases["throttle_curve"]...)
	c, ok := assertions.MeasureCurve(e)
	require.True(t, ok)
	for x := 0.1; x <= 0.9; x += 0.01 {
		i := c.At(x)[2]
		assert.LessOrEqual(t, i.Low, curved(x)+1e-9, "at %g", x)
		assert.GreaterOrEqual(t, i.High, curved(x)-1e-9, "at %g", x)
		assert.Less(t, i.Width(), 0.06, "at %g", x)
	}
	assert.Equal(t, e.Lowest, c.At(0)[0].Low, "below the levels anything may be commanded")
	at, ok := c.ThrottleFor(curved(0.5))
	assert.True(t, ok)
	assert.InDelta(t, 0.5, at, 0.01)

	e.Steps[3].Throttle = 0.3
	_, ok = assertions.MeasureCurve(e)
	assert.False(t, ok, "the levels do not rise")
}

// Where the four together stand at the cap of their sum, each may be meant to stand beyond: one that has another lowered
// beside it does.
func TestACurveMeasuredAtTheCapOfTheSumSaysNothingAbove(t *testing.T) {
	p := linePolicy("throttle_curve")
	p.SumCap = new(3.3)
	e := played(p, func(f *firmware) {
		f.null = func(x float64, _ *rand.Rand) ([4]float64, bool) {
			x = min(x, 3.3/4)
			return [4]float64{x, x, x, x}, true
		}
	}, append(slices.Clone(lineCases["throttle_curve"]), throttleAt("100", 1))...)
	c, ok := assertions.MeasureCurve(e)
	require.True(t, ok)
	assert.InDelta(t, 0.5, c.At(0.5)[0].High, 0.03, "below it what was commanded is known")
	for _, m := range c.At(1) {
		assert.GreaterOrEqual(t, m.High, 1.0)
		assert.InDelta(t, 3.3/4, m.Low, 0.07)
	}
}

// With the wheels as straight as the angle from which on a cap holds, it may come and go, and what is commanded above it
// tells no more than that.
func TestACapThatMayHoldOrNotLeavesTheCurveKnownBelow(t *testing.T) {
	steps := append(slices.Clone(lineCases["throttle_curve"]), throttleAt("100", 1))
	for i := range steps {
		steps[i].Steer = 0
	}
	measured := func(capAt float64) (assertions.Verdict, *law.Curve) {
		p := linePolicy("throttle_curve")
		p.Cap = &law.Cap{Of: 0.87}
		commands := 0
		e := played(p, func(f *firmware) {
			f.null = func(x float64, _ *rand.Rand) ([4]float64, bool) {
				if commands++; commands%60 < 30 {
					x = min(x, capAt)
				}
				return [4]float64{x, x, x, x}, true
			}
		}, steps...)
		c, _ := assertions.MeasureCurve(e)
		return assertions.Worst(assertions.Judge(assertions.PolicyBranch{Of: "throttle_curve"}, e)), c
	}
	verdict, c := measured(0.87)
	assert.Equal(t, assertions.Pass, verdict)
	require.NotNil(t, c)
	assert.InDelta(t, 0.87, c.At(1)[0].Low, 0.07)
	assert.GreaterOrEqual(t, c.At(1)[0].High, 1.0)
	assert.InDelta(t, 0.3, c.At(0.3)[0].Low, 0.01)
	verdict, c = measured(0.6)
	assert.Equal(t, assertions.Fail, verdict, "that is no cap of the policy")
	assert.Nil(t, c)
}

func TestEverySituationIsTested(t *testing.T) {
	elsewhere := []string{"demand", "demand_side", "loop_rate", "response", "follows", "answers_throttle", "answers_too_little", "answers_too_much",
		"derivative", "steer_rate", // by swings of their own
		"winds_back", "sum_cap", "throttle_as_it_is"} // the last two in suites, with boards that break them
	for _, of := range assertions.Situations {
		_, fault := faultCases[of]
		_, line := lineCases[of]
		_, split := asked[of]
		found := fault || line || split
		for _, e := range elsewhere {
			found = found || e == of
		}
		assert.True(t, found, "%s has no case", of)
	}
}

func TestProportionalByHand(t *testing.T) {
	check := assertions.Proportional{Motors: []law.Corner{"outside_rear", "inside_front"}, Steps: []string{"small", "middle", "large"}, Within: 0.05}
	play := func(change func(*firmware)) *assertions.Evidence {
		tp := tape{firmware: newFirmware(lossPolicy(), change)}
		return tp.play(lineCases["proportional"]...)
	}
	results := assertions.Judge(check, play(nil))
	assert.Equal(t, []string{"outside_rear proportional: pass", "inside_front proportional: pass"}, verdicts(results))
	assert.Less(t, results[0].Must().High-results[0].Must().Low, 0.3)
	assert.Equal(t, assertions.Fail, assertions.Worst(assertions.Judge(check, play(func(f *firmware) { f.bends = true }))))
	assert.Equal(t, assertions.Fail, assertions.Worst(assertions.Judge(check, play(equalBoard))))
	unmoved := assertions.Proportional{Motors: []law.Corner{"inside_rear"}, Steps: check.Steps, Within: 0.05}
	assert.Contains(t, assertions.Judge(unmoved, play(nil))[0].Why, "the shift never moved")
	for name, c := range map[string]assertions.Proportional{
		"no motor": {Steps: check.Steps}, "no step": {Motors: check.Motors}, "unknown step": {Motors: check.Motors, Steps: []string{"other"}},
		"too few": {Motors: check.Motors, Steps: check.Steps[:2]}, "no corner": {Motors: []law.Corner{"nowhere"}, Steps: check.Steps},
	} {
		assert.Equal(t, assertions.Undecided, assertions.Worst(assertions.Judge(c, play(nil))), name)
	}
}

// The slope and its distance from the declared one, by hand: 8 % at 60 deg/s,
// so 6 % at 45; a board with 1.3 times that is off by 30 %.
func TestSteepness(t *testing.T) {
	e := bench{board: times(1.3), policy: lossPolicy(), spread: 0.0002}.play(onDemand(1),
		titled("a", held(1, 0.9)), titled("b", held(1, 0.7)), titled("c", held(1, 0.5)))
	results := assertions.Judge(assertions.PolicyBranch{Of: "proportional"}, e)
	assert.Equal(t, assertions.Pass, byName(t, results, "proportional: outside_rear on a line").Verdict)
	r := byName(t, results, "proportional: outside_rear as steep as declared")
	assert.Equal(t, assertions.Fail, r.Verdict)
	assert.InDelta(t, 8*1.3, r.Must().Estimate, 0.05)
	assert.InDelta(t, -8*1.3, byName(t, results, "proportional: inside_front as steep as declared").Must().Estimate, 0.05)
}

// stairs is a board whose rear right motor stands at these commands, step by
// step; steps are told apart by their gain.
func stairs(commands ...float64) ([]assertions.Step, board) {
	var steps []assertions.Step
	for i := range commands {
		steps = append(steps, with(titled(fmt.Sprint(i), held(1, 0.5)), func(s *assertions.Step) { s.Gain = float64(i) }))
	}
	return steps, func(s assertions.Step, p *law.Policy) [4]float64 {
		return [4]float64{0.4, 0.4, 0.4, commands[int(s.Gain)]}
	}
}

func TestMonotoneByHand(t *testing.T) {
	tests := []struct {
		name     string
		commands []float64
		rising   bool
		want     assertions.Verdict
	}{
		{"rises", []float64{0.4, 0.43, 0.47}, true, assertions.Pass},
		{"falls", []float64{0.4, 0.37, 0.33}, false, assertions.Pass},
		{"rises where it should fall", []float64{0.4, 0.43, 0.47}, false, assertions.Fail},
		{"comes back", []float64{0.4, 0.47, 0.43}, true, assertions.Fail},
		{"dips first", []float64{0.4, 0.37, 0.47}, true, assertions.Fail},
		{"stays at its limit at last", []float64{0.4, 0.47, 0.47}, true, assertions.Pass},
		{"dips by less than counts", []float64{0.4, 0.47, 0.465}, true, assertions.Pass},
		{"does not move", []float64{0.4, 0.4, 0.4}, true, assertions.Fail},
		{"dips by just what counts", []float64{0.4, 0.47, 0.46}, true, assertions.Undecided},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			steps, b := stairs(tt.commands...)
			e := bench{board: b, policy: policy(), spread: 0.0005}.play(steps...)
			c := assertions.Monotone{Motors: []law.Corner{"outside_rear"}, Steps: []string{"0", "1", "2"}, Rising: tt.rising}
			results := assertions.Judge(c, e)
			require.Len(t, results, 1)
			assert.Equal(t, tt.want, results[0].Verdict, "%+v", results)
		})
	}
	for name, c := range map[string]assertions.Monotone{
		"no motor": {Steps: []string{"0", "1"}}, "one step": {Motors: []law.Corner{"rear_left"}, Steps: []string{"0"}},
		"unknown step": {Motors: []law.Corner{"rear_left"}, Steps: []string{"0", "9"}},
	} {
		steps, b := stairs(0.4, 0.5)
		assert.Equal(t, assertions.Undecided, assertions.Worst(assertions.Judge(c, bench{board: b, policy: policy()}.play(steps...))), name)
	}
}

func TestMonotoneFindsTheDip(t *testing.T) {
	p := lossPolicy()
	steps := lineCases["monotone"]
	dips := func(s assertions.Step, q *law.Policy) [4]float64 {
		m := good(s, q)
		if s.Name == "middle" {
			m[plant.RearRight] = 0.4
			m[plant.FrontLeft] = 0.42
		}
		return m
	}
	e := bench{board: dips, policy: p, spread: 0.0002}.play(steps...)
	results := assertions.Judge(assertions.PolicyBranch{Of: "monotone"}, e)
	r := byName(t, results, "monotone: outside_rear rises with the error")
	assert.Equal(t, assertions.Fail, r.Verdict)
	assert.Contains(t, r.Why, `from "small" to "middle"`, "in order of the error, not of the case")
	assert.Equal(t, assertions.Fail, byName(t, results, "monotone: inside_front falls with the error").Verdict)
}

func TestNoJumpByHand(t *testing.T) {
	e := bench{board: equal, policy: policy(), spread: 0.0005}.play(held(1, 0.5))
	check := assertions.NoJump{Motors: law.Corners[:4], Most: 0.2}
	results := assertions.Judge(check, e)
	require.Len(t, results, 4)
	assert.Equal(t, assertions.Pass, assertions.Worst(results))
	end := spike(e, plant.RearLeft, 0, 0.9)
	r := byName(t, assertions.Judge(check, e), "rear_left jumps by at most 20 %")
	assert.Equal(t, assertions.Fail, r.Verdict)
	assert.Equal(t, end, r.At)
	assert.InDelta(t, 50, r.Must().Estimate, 0.5)
	assert.Equal(t, assertions.Undecided, byName(t, assertions.Judge(assertions.NoJump{Motors: law.Corners[2:3], Most: 0.2}, jumping(e, 0.2)), "rear_left jumps by at most 20 %").Verdict)
	e.Trace.Motor[plant.FrontLeft].Events = []trace.Event{{At: e.Steps[0].From, Kind: trace.Overlong}}
	assert.Contains(t, byName(t, assertions.Judge(check, e), "front_left jumps by at most 20 %").Why, "overlong")
	assert.Equal(t, assertions.Undecided, assertions.Worst(assertions.Judge(assertions.NoJump{Most: 0.2}, e)))
	assert.Equal(t, assertions.Undecided, assertions.Worst(assertions.Judge(assertions.NoJump{Motors: law.Corners[:1], Step: "other"}, e)))
}

// jumping makes every frame of the rear left motor 0.4, but one that is by more.
func jumping(e *assertions.Evidence, by float64) *assertions.Evidence {
	frames := e.Trace.Motor[plant.RearLeft].Frames
	for i := range frames {
		frames[i].Value = 0.4
	}
	frames[len(frames)-5].Value += by
	return e
}
