package assertions_test

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"hilrig/assertions"
	"hilrig/assertions/law"
	"hilrig/plant"
	"hilrig/rig/trace"
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

// A shift that grows with time may stay when the error is gone, or leak away slowly.
func TestNoWindUpAsksNothingOfAShiftThatGrowsWithTime(t *testing.T) {
	tp := tape{firmware: newFirmware(linePolicy("no_wind_up"), asDeclared), ramps: ramps}
	e := tp.play(slices.Clone(lineCases["no_wind_up"])...)
	for grows, asked := range map[law.Growth]bool{law.GrowthProportional: true, law.GrowthIntegrating: false} {
		e.Trace, e.Policy = nil, linePolicy("no_wind_up")
		e.Policy.ShiftAt.Grows = grows
		planned := assertions.Plan(assertions.PolicyBranch{Of: "no_wind_up"}, e)
		require.Len(t, planned, 1)
		assert.Equal(t, asked, planned[0].Asked, "%v: %s", grows, planned[0].Why)
	}
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
				e.Steps[i].Throttle = 0.03
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
		plan := assertions.Plan(assertions.PolicyBranch{Of: "understeer"}, e)
		moves := slices.ContainsFunc(plan, func(p assertions.Planned) bool { return p.Asked && p.Name == "understeer: outside_rear raised" })
		assert.Equal(t, asked, moves, gain)
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

// What the law is not sure of is not asked, and says why: neither of the shift nor of the demand.
func TestWhatIsNotForSureIsNotAsked(t *testing.T) {
	grows := func(g law.Growth) func(p *law.Policy) {
		return func(p *law.Policy) {
			size := *p.ShiftAt
			size.Grows, size.Most = g, 0.12
			p.ShiftAt = &size
		}
	}
	vary := func(p *law.Policy) {
		under, over := *p.Understeer, *p.Oversteer
		under.Varies, over.Varies = true, true
		p.Understeer, p.Oversteer = &under, &over
	}
	onOff := func(p *law.Policy) { p.GainSteps = []float64{0, 1} }
	for _, row := range []struct {
		of, name string
		change   func(p *law.Policy)
		why      string
	}{
		{"follows", "follows: a shift is asked for", func(*law.Policy) {}, ""},
		{"follows", "follows: a shift is asked for", grows(law.GrowthProportional), ""},
		{"follows", "follows: a shift is asked for", grows(law.GrowthSaturating), "no shift is for sure"},
		{"follows", "follows: a shift is asked for", grows(law.GrowthIntegrating), "gathers with time"},
		{"follows", "follows: a shift is asked for", vary, "the shares of the motors vary"},
		{"follows", "follows: a shift is asked for", onOff, "a gain of 50 % may be none"},
		{"demand", "demand", grows(law.GrowthIntegrating), "gathers with time"},
		{"demand", "demand: yaw rate", grows(law.GrowthSaturating), ""},
		{"no_wrap", "no wrap", func(p *law.Policy) { p.ShiftAt, p.Floor, p.AtTheFloor = nil, new(0.05), law.LimitScale }, "go as a whole"},
		{"demand", "demand", func(p *law.Policy) { p.TractionControl = new(0.01) }, "traction_control may cut its motor"},
		{"demand", "demand: yaw rate", func(p *law.Policy) { p.TractionControl = new(2.0) }, ""},
	} {
		p := linePolicy(row.of)
		p.Demand.Within = 0.05
		row.change(p)
		swept := onDemand(1)
		swept.Name, swept.Baseline, swept.Swept, swept.Changed = "swept", false, true, trace.YawRate
		swept.Levels = [2]float64{45 * deg, 135 * deg}
		car := smallCar()
		e := &assertions.Evidence{Policy: p, Steps: []assertions.Step{swept}, CommandStep: 0.001, Car: &car}
		plan := assertions.Plan(assertions.PolicyBranch{Of: row.of}, e)
		at := slices.IndexFunc(plan, func(p assertions.Planned) bool { return p.Name == row.name })
		require.GreaterOrEqual(t, at, 0, "%+v %+v", row.of, plan)
		assert.Equal(t, row.why == "", plan[at].Asked, "%+v", plan[at])
		assert.Contains(t, plan[at].Why, row.why)
	}
}

// A motor that stands at the end of its range cannot be lowered beyond it; that it goes there is still asked.
func TestASizeEndsWithTheRange(t *testing.T) {
	lifted := func(s assertions.Step, p *law.Policy) [4]float64 {
		m := good(s, p)
		m[plant.FrontLeft] = max(m[plant.FrontLeft], 0.03)
		return m
	}
	for name, row := range map[string]struct {
		board board
		want  assertions.Verdict
	}{"at the end": {good, assertions.Pass}, "not quite": {lifted, assertions.Fail}} {
		at := func(s *assertions.Step) { s.Throttle = 0.06 }
		e := bench{policy: policy(), board: row.board, spread: 0.002}.play(with(onDemand(1), at), with(held(1, 0.3), at))
		results := assertions.Judge(assertions.PolicyBranch{Of: "understeer"}, e)
		i := slices.IndexFunc(results, func(r assertions.Result) bool { return r.Name == "understeer: size of shift of inside_front" })
		require.GreaterOrEqual(t, i, 0)
		assert.Equal(t, row.want, results[i].Verdict, "%s: %+v", name, results[i])
	}
}

// Of a shift that grows ever less with the yaw error, or of no declared size, a share may come to less than what counts as
// a shift, and so may that of one motor where the shares vary; the yaw error asks for 15.6 % in proportion.
func TestAShareOfAShiftThatIsNotSizedIsAskedWhereItIsOne(t *testing.T) {
	unsized := func(p *law.Policy) { p.ShiftAt = nil }
	bound := func(most float64) func(p *law.Policy) {
		return func(p *law.Policy) { p.ShiftAt.Grows, p.ShiftAt.Most = law.GrowthSaturating, most }
	}
	share := func(is float64) func(p *law.Policy) {
		return func(p *law.Policy) { p.OppositeLock, p.OppositeLockShare = law.OppositeLockShare, is }
	}
	front := func(is float64) func(p *law.Policy) { return func(p *law.Policy) { p.Oversteer.Front = is } }
	vary := func(p *law.Policy) {
		p.Oversteer.Raise, p.Oversteer.Varies = []law.Corner{law.OutsideFront, law.InsideFront}, true
	}
	for name, row := range map[string]struct {
		changes []func(p *law.Policy)
		asked   bool
	}{
		"all of it":                    {[]func(p *law.Policy){bound(0.08)}, true},
		"60 % of it":                   {[]func(p *law.Policy){bound(0.08), share(0.6)}, true},
		"40 % of it by 60 %":           {[]func(p *law.Policy){bound(0.15), share(0.4), front(0.6)}, true},
		"40 % of it by 20 %":           {[]func(p *law.Policy){bound(0.2), share(0.4), front(0.2)}, false},
		"varying shares":               {[]func(p *law.Policy){bound(0.08), vary}, false},
		"no size":                      {[]func(p *law.Policy){unsized}, true},
		"60 % of no size":              {[]func(p *law.Policy){unsized, share(0.6)}, true},
		"30 % of no size":              {[]func(p *law.Policy){unsized, share(0.3)}, false},
		"a weak front axle of no size": {[]func(p *law.Policy){unsized, front(0.4)}, false},
		"varying shares of no size":    {[]func(p *law.Policy){unsized, vary}, false},
	} {
		t.Run(name, func(t *testing.T) {
			p := policy()
			for _, change := range row.changes {
				change(p)
			}
			e := bench{policy: p, board: func(s assertions.Step, _ *law.Policy) [4]float64 { return good(s, policy()) }}.play(asked["opposite_lock"]...)
			e.Trace = nil
			found := false
			for _, x := range assertions.Plan(assertions.PolicyBranch{Of: "opposite_lock"}, e) {
				found = found || x.Asked && x.Name == "opposite lock: outside_front raised"
			}
			assert.Equal(t, row.asked, found)
		})
	}
}

// A shift is counted from a baseline, of which nothing is known where traction control may cut a motor there.
func TestABaselineThatSpinsIsNoBaseline(t *testing.T) {
	for _, row := range []struct {
		share float64
		asked bool
	}{{0.01, false}, {2, true}} {
		p := policy()
		p.TractionControl = new(row.share)
		car := smallCar()
		e := &assertions.Evidence{Policy: p, Steps: []assertions.Step{onDemand(1), held(1, 0.4)}, CommandStep: 0.001, Car: &car}
		plan := assertions.Plan(assertions.PolicyBranch{Of: "understeer"}, e)
		asked := slices.ContainsFunc(plan, func(p assertions.Planned) bool { return p.Asked })
		assert.Equal(t, row.asked, asked, "%+v", plan)
		if !row.asked {
			assert.Contains(t, plan[0].Why, "in the baseline that the policy's traction_control may cut its motor")
		}
	}
}
