package assertions_test

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"hilrig/assertions"
	"hilrig/assertions/law"
)

// planned holds results against what was planned: as many, by the same names, and asked or not.
func planned(t interface{ Fatalf(string, ...any) }, c assertions.PolicyBranch, e *assertions.Evidence, results []assertions.Result) {
	unplayed := *e
	unplayed.Trace = nil
	plan := assertions.Plan(c, &unplayed)
	if len(plan) != len(results) {
		t.Fatalf("%#v: %d planned, %d results\n%+v\n%+v", c, len(plan), len(results), plan, results)
	}
	for i, p := range plan {
		r := &results[i]
		if p.Name != r.Name || p.Asked != (r.Verdict != assertions.NotAsked) || !p.Asked && p.Why == "" {
			t.Fatalf("%#v: planned %+v, result %+v", c, p, r)
		}
	}
}

// leaveOut leaves some keys out of a policy.
var leaveOut = []func(p *law.Policy){
	func(p *law.Policy) { p.Demand = nil },
	func(p *law.Policy) { p.OppositeLock = 0 },
	func(p *law.Policy) { p.Understeer = nil },
	func(p *law.Policy) { p.Oversteer = nil },
	func(p *law.Policy) { p.ShiftAt = nil },
	func(p *law.Policy) { p.SumKept = false },
	func(p *law.Policy) { p.DeadBand = nil },
	func(p *law.Policy) { p.Cap = nil },
	func(p *law.Policy) { p.Floor = nil },
	func(p *law.Policy) { p.AtTheLimit = 0 },
	func(p *law.Policy) { p.MotorsEqualWithin = nil },
	func(p *law.Policy) { p.YawLost = nil },
	func(p *law.Policy) { p.Response = nil },
	func(p *law.Policy) { p.Reverse = law.ReverseAsForward },
	func(p *law.Policy) { p.Standstill = nil },
	func(p *law.Policy) { p.Understeer.Lower = nil },
	func(p *law.Policy) { p.DeadBand = new(20 * deg) },
	func(p *law.Policy) { p.AtTheLimit = law.LimitMovePartner },
	func(p *law.Policy) { p.Floor = new(0.1) },
}

// Whatever the policy leaves out and whatever the board does, what is judged was planned.
func TestWhatIsJudgedWasPlanned(t *testing.T) {
	boards := map[string]func(*firmware){"as declared": asDeclared, "silent": silentBoard, "idle": idleBoard, "equal": equalBoard, "random": randomBoard}
	rapid.Check(t, func(t *rapid.T) {
		of := rapid.SampledFrom(assertions.Situations).Draw(t, "of")
		steps, ok := faultCases[of]
		if !ok {
			steps, ok = lineCases[of]
		}
		if !ok {
			steps = asked[rapid.SampledFrom(assertions.Branches).Draw(t, "case")]
		}
		p := linePolicy(of)
		for _, i := range rapid.SliceOfN(rapid.IntRange(0, len(leaveOut)-1), 0, 3).Draw(t, "left out") {
			if p.Understeer != nil {
				leaveOut[i](p)
			}
		}
		board := boards[rapid.SampledFrom([]string{"as declared", "silent", "idle", "equal", "random"}).Draw(t, "board")]
		tp := tape{firmware: newFirmware(linePolicy(of), board), ramps: ramps}
		e := tp.play(slices.Clone(steps)...)
		e.Policy = p
		for _, s := range e.Steps {
			c := assertions.PolicyBranch{Of: of, Step: s.Name}
			planned(t, c, e, assertions.Judge(c, e))
		}
	})
}

func TestPlanSaysWhyNot(t *testing.T) {
	plan := func(of string, change func(e *assertions.Evidence)) []assertions.Planned {
		e := bench{board: good, policy: policy()}.play(asked["understeer"]...)
		e.Trace = nil
		change(e)
		return assertions.Plan(assertions.PolicyBranch{Of: of}, e)
	}
	all := plan("understeer", func(*assertions.Evidence) {})
	require.Len(t, all, 7)
	for _, p := range all {
		assert.True(t, p.Asked)
		assert.Empty(t, p.Why)
	}
	left := plan("understeer", func(e *assertions.Evidence) { e.Policy.Understeer = nil })
	assert.Equal(t, []assertions.Planned{{Name: "understeer", Asked: false, Why: "the policy has no understeer"}}, left)
	mended := plan("oversteer", func(*assertions.Evidence) {})
	require.Len(t, mended, 1)
	assert.True(t, mended[0].Asked, "it stays open until the step is mended")
	assert.Contains(t, mended[0].Why, "no oversteer")
}

// Where a firmware may have an end of its own that the policy leaves out, nothing is asked of it.
func TestNoEndIsAskedThatIsNotDeclared(t *testing.T) {
	for _, of := range []string{"at_the_limit", "no_wind_up"} {
		steps, ok := lineCases[of]
		if !ok {
			steps = asked[of]
		}
		for _, high := range []bool{true, false} {
			if !high && of == "at_the_limit" {
				continue // the case's shift does not surely reach the floor
			}
			tp := tape{firmware: newFirmware(linePolicy(of), asDeclared), ramps: ramps}
			e := tp.play(slices.Clone(steps)...)
			e.Trace, e.Policy = nil, linePolicy(of)
			e.Policy.Cap, e.Policy.Floor = &law.Cap{Of: 1}, new(0.0)
			for i := range e.Steps {
				e.Steps[i].Throttle = 0.01
				if high {
					e.Steps[i].Throttle = 0.99
				}
			}
			check := assertions.PolicyBranch{Of: of}
			assert.True(t, assertions.Plan(check, e)[0].Asked, of)
			want := "the policy has no floor"
			if e.Policy.Floor = nil; high {
				e.Policy.Floor, e.Policy.Cap, want = new(0.0), nil, "the policy has no cap"
			}
			plan := assertions.Plan(check, e)
			require.Len(t, plan, 1, of)
			assert.False(t, plan[0].Asked, of)
			assert.Contains(t, plan[0].Why, want, of)
		}
	}
}

// Without a declared size a motor that a branch names is asked to move all the same, but not where
// for another reason the shift may be none.
func TestNoSenseIsAskedWhereTheGainMayBeNone(t *testing.T) {
	for gain, asked := range map[float64]bool{0.25: false, 0.5: true, 1: true} {
		e := bench{policy: policy(), board: good}.play(onDemand(1), with(held(1, 0.4), func(s *assertions.Step) { s.Gain = gain }))
		e.Trace, e.Policy.ShiftAt, e.Policy.GainSteps = nil, nil, []float64{0, 0.5, 1}
		assert.Equal(t, asked, assertions.Plan(assertions.PolicyBranch{Of: "understeer"}, e)[0].Asked, gain)
	}
}

// A cap or a floor that the policy leaves out may be there: near the ends of the range nothing is
// asked of what a motor comes to, and in the middle all is.
func TestNoRoomIsCountedOnThatIsNotDeclared(t *testing.T) {
	for throttle, asked := range map[float64]bool{0.03: false, 0.4: true, 0.97: false} {
		at := func(s *assertions.Step) { s.Throttle = throttle }
		e := bench{policy: policy(), board: good}.play(with(onDemand(1), at), with(held(1, 0.4), at))
		e.Trace, e.Policy.Cap, e.Policy.Floor = nil, nil, nil
		for _, p := range assertions.Plan(assertions.PolicyBranch{Of: "understeer"}, e) {
			if p.Name == "understeer: size of shift of outside_rear" || p.Name == "understeer: outside_rear raised" {
				assert.Equal(t, asked || throttle < 0.5, p.Asked, "%v %v", throttle, p)
			}
			if p.Name == "understeer: inside_front lowered" {
				assert.Equal(t, asked || throttle > 0.5, p.Asked, "%v %v", throttle, p)
			}
		}
	}
}
