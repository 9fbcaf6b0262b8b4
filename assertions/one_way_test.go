package assertions_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/assertions"
	"hilrig/assertions/law"
	"hilrig/plant"
)

// unsizedPolicy is a policy by which a shift of any size may move no motor.
func unsizedPolicy() *law.Policy {
	p := policy()
	p.ShiftAt, p.AtTheLimit = nil, law.LimitPartnerOnly
	return p
}

// Where the law has no motor surely move, none may go a way in which it never has it go: a board that shifts as declared keeps
// that, as does one that moves no motor; one that shifts the wrong way round, or by other motors, does not.
func TestAMotorThatNeedNotMoveDoesNotGoTheOtherWay(t *testing.T) {
	changed := func(change func(p *law.Policy)) board {
		return func(s assertions.Step, p *law.Policy) [4]float64 {
			other := *p
			change(&other)
			return good(s, &other)
		}
	}
	for _, tt := range []struct {
		name  string
		board board
		want  assertions.Verdict
	}{
		{"as declared", good, assertions.Pass},
		{"by hardly anything", changed(func(p *law.Policy) {
			p.ShiftAt = &law.ShiftAt{Error: 60 * deg, Gain: 0.5, Is: 0.002}
		}), assertions.Pass},
		{"not at all", equal, assertions.Pass},
		{"the wrong way round", changed(func(p *law.Policy) {
			p.Understeer = &law.Split{Raise: p.Understeer.Lower, Lower: p.Understeer.Raise}
			p.Oversteer = &law.Split{Raise: p.Oversteer.Lower, Lower: p.Oversteer.Raise}
		}), assertions.Fail},
		{"by the other motors", changed(func(p *law.Policy) {
			p.Understeer = &law.Split{Raise: []law.Corner{law.OutsideFront}, Lower: []law.Corner{law.InsideRear}}
			p.Oversteer = &law.Split{Raise: []law.Corner{law.InsideFront}, Lower: []law.Corner{law.InsideRear}}
		}), assertions.Fail},
	} {
		for of, share := range map[string]float64{"understeer": 0.5, "oversteer": 1.6, "opposite_lock": -0.3} {
			for _, turn := range []string{"left", "right"} {
				steps := []assertions.Step{with(onDemand(1), func(s *assertions.Step) { s.Gain = 0 }), held(1, share)}
				if turn == "right" {
					steps = []assertions.Step{mirroredStep(steps[0]), mirroredStep(steps[1])}
				}
				e := bench{board: tt.board, policy: policy(), spread: 0.0002}.play(steps...)
				e.Policy = unsizedPolicy()
				c := assertions.PolicyBranch{Of: of}
				results := assertions.Judge(c, e)
				assert.Equal(t, tt.want, assertions.Worst(results), "%s, %s to the %s: %+v", tt.name, of, turn, results)
				planned(t, c, e, results)
				for _, r := range results {
					if r.Verdict == assertions.Fail {
						assert.Contains(t, r.Keys, of)
					}
				}
			}
		}
	}
}

// What is asked so are the sense of each motor that may go one way and that the others stay, and of the policy's keys no more
// than the situation's own counts as asked; where the size is declared all is asked as ever.
func TestTheWayOfAShiftAsksNoMoreThanItsOwnKey(t *testing.T) {
	e := &assertions.Evidence{Policy: unsizedPolicy(), Steps: []assertions.Step{with(onDemand(1), func(s *assertions.Step) { s.Gain = 0 }), held(1, 0.5)}, CommandStep: 0.001}
	var names []string
	for _, p := range assertions.Plan(assertions.PolicyBranch{Of: "understeer"}, e) {
		names = append(names, p.Name)
		assert.True(t, p.Asked)
		assert.Equal(t, []string{"understeer"}, p.Keys("understeer", e.Policy))
	}
	assert.ElementsMatch(t, []string{"understeer: outside_rear not lowered", "understeer: inside_front not raised", "understeer: outside_front unchanged", "understeer: inside_rear unchanged"}, names)
	e.Policy = policy()
	for _, p := range assertions.Plan(assertions.PolicyBranch{Of: "understeer"}, e) {
		assert.NotContains(t, p.Name, " not ")
		assert.Contains(t, p.Keys("understeer", e.Policy), "shift_at")
	}
}

// A baseline in which firmware whose demand is off by its tolerance may shift already leaves the motors both ways to go.
func TestNoWayIsAskedFromABaselineThatMayBeShifted(t *testing.T) {
	p := unsizedPolicy()
	d := *p.Demand
	d.Within = 0.05
	p.Demand = &d
	e := &assertions.Evidence{Policy: p, Steps: []assertions.Step{onDemand(1), held(1, 0.5)}, CommandStep: 0.001}
	for _, one := range assertions.Plan(assertions.PolicyBranch{Of: "understeer"}, e) {
		assert.NotContains(t, one.Name, " not ")
	}
}

// After a loss by which the shift goes away, and at a spike, it need not have been there where it may move no motor: a board
// that goes on shifting fails all the same.
func TestAShiftThatNeedNotBeThereGoesAwayAllTheSame(t *testing.T) {
	for _, tt := range []struct {
		of     string
		change func(f *firmware)
		want   assertions.Verdict
	}{
		{"yaw_lost", nil, assertions.Pass},
		{"yaw_lost", equalBoard, assertions.Pass},
		{"yaw_lost", func(f *firmware) { f.yawAfter, f.frozenAfter = 10000*ms, 10000*ms }, assertions.Fail},
		{"spike", nil, assertions.Pass},
		{"spike", func(f *firmware) { f.believesSpike = true }, assertions.Fail},
	} {
		e := played(lossPolicy(), tt.change, faultCases[tt.of]...)
		p := *e.Policy
		p.ShiftAt, p.AtTheLimit = nil, law.LimitPartnerOnly
		e.Policy = &p
		c := assertions.PolicyBranch{Of: tt.of, Step: judgedStep(tt.of)}
		results := assertions.Judge(c, e)
		require.Len(t, results, 1)
		assert.Equal(t, tt.want, results[0].Verdict, "%s: %+v", tt.of, results)
		planned(t, c, e, results)
	}
}

// A motor that stood off an end may come to it by the shift alone: what is said is not that it had no room, and where the policy
// leaves that end out, that.
func TestWhyAMotorNeedNotMoveIsTold(t *testing.T) {
	p := policy()
	p.Floor, p.AtTheLimit, p.ThrottleCurve = nil, 0, law.ThrottleCurveAny
	lower := func(s assertions.Step, p *law.Policy) [4]float64 { // of the throttle it makes less
		s.Throttle *= 0.45
		return good(s, p)
	}
	steps := []assertions.Step{with(onDemand(1), func(s *assertions.Step) { s.Gain, s.Throttle = 0, 0.5 }), with(held(1, 0.5), func(s *assertions.Step) { s.Throttle = 0.5 })}
	e := bench{board: lower, policy: policy(), spread: 0.0002}.play(steps...)
	e.Policy = p
	r := byName(t, assertions.Judge(assertions.PolicyBranch{Of: "understeer"}, e), "understeer: inside_front lowered")
	assert.Equal(t, assertions.Undecided, r.Verdict)
	assert.NotContains(t, r.Why, "no room")
	assert.Contains(t, r.Why, "where firmware may have a floor that the policy does not declare")
	assert.Contains(t, r.Why, "or declare the floor")
}

// A shift that grows all through the step makes its mean uncertain, and is there all the same.
func TestAShiftThatGrowsIsThereThoughItsMeanIsUncertain(t *testing.T) {
	p := policy()
	p.ShiftAt = &law.ShiftAt{Error: 60 * deg, Gain: 0.5, Is: 0.08, Within: 0.1, Grows: law.GrowthIntegrating, Most: 0.2}
	e := bench{board: good, policy: policy(), spread: 0.0002, window: 2000 * ms}.play(with(onDemand(1), func(s *assertions.Step) { s.Gain = 0 }), held(1, 0.5))
	e.Policy = p
	s := &e.Steps[1]
	s.From = s.Applied + 1500*ms
	grows := func(w plant.Wheel, by float64) {
		frames := e.Trace.Motor[w].Frames
		for i := range frames {
			if f := &frames[i]; f.End >= s.From {
				f.Value = e.Steps[0].Throttle + by*float64(0.012+0.3*(f.End-s.From).Seconds())
			}
		}
	}
	grows(plant.RearRight, 1)
	grows(plant.FrontLeft, -1)
	results := assertions.Judge(assertions.PolicyBranch{Of: "understeer"}, e)
	for _, name := range []string{"understeer: outside_rear raised", "understeer: inside_front lowered"} {
		assert.Equal(t, assertions.Pass, byName(t, results, name).Verdict, "%+v", results)
	}
}

// Nor does one that grows have to have a certain mean, where the policy declares no size, for it to be sure which way it went.
func TestAShiftThatGrowsTellsItsWayThoughItsMeanIsUncertain(t *testing.T) {
	for _, tt := range []struct {
		by   float64
		want assertions.Verdict
	}{{1, assertions.Pass}, {-1, assertions.Fail}} {
		e := bench{board: equal, policy: policy(), spread: 0.0002, window: 2000 * ms}.play(with(onDemand(1), func(s *assertions.Step) { s.Gain = 0 }), held(1, 0.5))
		e.Policy = unsizedPolicy()
		s := &e.Steps[1]
		s.From = s.Applied + 1500*ms
		for w, sense := range map[plant.Wheel]float64{plant.RearRight: tt.by, plant.FrontLeft: -tt.by} {
			frames := e.Trace.Motor[w].Frames
			for i := range frames {
				if f := &frames[i]; f.End >= s.From {
					f.Value = e.Steps[0].Throttle + sense*float64(0.012+0.3*(f.End-s.From).Seconds())
				}
			}
		}
		results := assertions.Judge(assertions.PolicyBranch{Of: "understeer"}, e)
		for _, name := range []string{"understeer: outside_rear not lowered", "understeer: inside_front not raised"} {
			assert.Equal(t, tt.want, byName(t, results, name).Verdict, "%+v", results)
		}
	}
}

// Where traction control may cut motors, as of wheels that stand, none may be raised all the same where there is to be no shift: a
// cut only lowers, and what one of the baseline is let go to is known where the throttle's curve is.
func TestAMotorThatMayBeCutIsNotRaisedAtAStandstill(t *testing.T) {
	flickers := func(t *testing.T, e *assertions.Evidence) { // cut and let go by the noise of wheels that stand
		t.Helper()
		frames := e.Trace.Motor[plant.RearLeft].Frames
		for i := range frames {
			if i/7%2 == 0 {
				frames[i].Value *= 0.3
			}
		}
	}
	for _, row := range []struct {
		name  string
		by    [4]float64 // beside the throttle, in the baseline and then
		then  [4]float64
		curve law.ThrottleCurve
		want  assertions.Verdict
	}{
		{"it stays", [4]float64{}, [4]float64{}, law.ThrottleCurveNone, assertions.Pass},
		{"it is cut", [4]float64{}, [4]float64{-0.3}, law.ThrottleCurveNone, assertions.Pass},
		{"it is cut now and again", [4]float64{}, [4]float64{}, law.ThrottleCurveNone, assertions.Pass},
		{"it is let go", [4]float64{-0.3}, [4]float64{}, law.ThrottleCurveNone, assertions.Pass},
		{"shifted", [4]float64{}, [4]float64{0.1, -0.1, 0.1, -0.1}, law.ThrottleCurveNone, assertions.Fail},
		{"shifted, of any curve", [4]float64{}, [4]float64{0.1, -0.1, 0.1, -0.1}, law.ThrottleCurveAny, assertions.NotAsked},
	} {
		p := policy()
		p.TractionControl, p.ThrottleCurve = new(0.2), row.curve
		still := func(s *assertions.Step) { s.Speed, s.YawRate, s.Demand = 0, 0, 0 }
		stands := func(s assertions.Step, p *law.Policy) [4]float64 {
			m, by := equal(s, p), row.then
			if s.Baseline {
				by = row.by
			}
			for i := range m {
				m[i] += by[i]
			}
			return m
		}
		e := bench{board: stands, policy: p, spread: 0.0002}.play(with(onDemand(1), still), with(held(1, 0.5), still))
		e.Car = &plant.Car{FrontAxle: 0.14, RearAxle: 0.19, FrontTrack: 0.1, RearTrack: 0.1, WheelRadius: 0.05}
		if row.name == "it is cut now and again" {
			flickers(t, e)
		}
		c := assertions.PolicyBranch{Of: "standstill"}
		results := assertions.Judge(c, e)
		assert.Equal(t, row.want, assertions.Worst(results), "%s: %+v", row.name, results)
		planned(t, c, e, results)
	}
}
