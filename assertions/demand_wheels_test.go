package assertions_test

import (
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/assertions"
	"hilrig/assertions/law"
	"hilrig/plant"
)

// apartCar is a car whose wheels' speeds are worked out by hand below.
var apartCar = plant.Car{FrontAxle: 0.16, RearAxle: 0.17, FrontTrack: 0.3, RearTrack: 0.28, WheelRadius: 0.054}

// The slips of the standard suite, in a turn to the left.
var apartSlips = map[string][4]float64{
	"front axle": {0.25, 0.25, 0, 0}, "rear axle": {0, 0, 0.25, 0.25}, "a wheel faster": {0, 0.25, 0, 0}, "a wheel slower": {0, 0, -0.2, 0},
}

// wheelSpeeds returns what the four wheels tell at a yaw rate, for a car that goes straight ahead: each hub by the rule of a
// rigid body, and its slip on top.
func wheelSpeeds(s *assertions.Step, slip [4]float64) []float64 {
	v, r, d := s.Speed, s.YawRate, s.Steer
	front := func(half float64) float64 { return (v+r*half)*math.Cos(d) + r*0.16*math.Sin(d) }
	return []float64{front(-0.15) * (1 + slip[0]), front(0.15) * (1 + slip[1]), (v - r*0.14) * (1 + slip[2]), (v + r*0.14) * (1 + slip[3])}
}

// takes are the speeds that firmware takes of its wheels, by the words of a policy and by single wheels.
var takes = map[string]func(w []float64) float64{
	"mean":           func(w []float64) float64 { return (w[0] + w[1] + w[2] + w[3]) / 4 },
	"front_mean":     func(w []float64) float64 { return (w[0] + w[1]) / 2 },
	"rear_mean":      func(w []float64) float64 { return (w[2] + w[3]) / 2 },
	"slowest":        slices.Min[[]float64],
	"second_slowest": func(w []float64) float64 { return slices.Sorted(slices.Values(w))[1] },
	"second_fastest": func(w []float64) float64 { return slices.Sorted(slices.Values(w))[2] },
	"fastest":        slices.Max[[]float64],
	"one front":      func(w []float64) float64 { return w[0] },
	"the other":      func(w []float64) float64 { return w[1] },
	"one rear":       func(w []float64) float64 { return w[2] },
	"the other rear": func(w []float64) float64 { return w[3] },
}

// bySpeed is the good board that takes the speed so of wheels that slip.
func bySpeed(take func(w []float64) float64, slip [4]float64) board {
	return func(s assertions.Step, p *law.Policy) [4]float64 {
		s.Demand = p.Demand.YawRate(take(wheelSpeeds(&s, slip)), s.Steer)
		return good(s, p)
	}
}

// sweptApart judges a sweep of the demand by a board that takes the speed so, to the left (+1) or right.
func sweptApart(p *law.Policy, take func(w []float64) float64, slip [4]float64, turn float64) []assertions.Result {
	if turn < 0 {
		slip = [4]float64{slip[1], slip[0], slip[3], slip[2]}
	}
	e := sweeping{board: bySpeed(take, slip), policy: p, turn: turn}.play()
	e.Car = &apartCar
	for i := range e.Steps {
		e.Steps[i].Slip = slip
	}
	return assertions.Judge(assertions.PolicyBranch{Of: "demand", Step: "sweep"}, e)
}

// Firmware that takes the speed of the wheels that its policy says passes with whichever of them slips, and firmware that takes it
// of others fails in at least one case, to either side.
func TestTheDemandGoesByTheWheelsOfThePolicy(t *testing.T) {
	for _, word := range (law.SpeedFrom(0)).Words() {
		p := sweepPolicy()
		p.DeadBand = nil
		p.Demand.SpeedFrom = law.SpeedFrom(slices.Index((law.SpeedFrom(0)).Words(), word) + 1)
		require.Equal(t, word, p.Demand.SpeedFrom.String())
		for name, take := range takes {
			for _, turn := range []float64{1, -1} {
				var verdicts []assertions.Verdict
				for what, slip := range apartSlips {
					results := sweptApart(p, take, slip, turn)
					require.Len(t, results, 1)
					verdicts = append(verdicts, results[0].Verdict)
					if name == word {
						assert.Contains(t, []assertions.Verdict{assertions.Pass, assertions.NotAsked}, results[0].Verdict, "%s, %s, %v: %+v", word, what, turn, results[0])
					}
				}
				if name != word {
					assert.Contains(t, verdicts, assertions.Fail, "%s by the policy, %s by the firmware, %v", word, name, turn)
				} else {
					assert.Contains(t, verdicts, assertions.Pass, word)
				}
			}
		}
	}
}

// What is asked names the wheels of the policy, and what failed those that would make what was found.
func TestWhatOtherWheelsWouldMakeIsSaid(t *testing.T) {
	p := sweepPolicy()
	p.Demand.SpeedFrom = law.SpeedFromRear
	r := byName(t, sweptApart(p, takes["front_mean"], apartSlips["front axle"], 1), "demand: yaw rate by the rear wheels")
	assert.Equal(t, assertions.Fail, r.Verdict)
	assert.Contains(t, r.Why, "It is what the speed by the front wheels would make")
	r = byName(t, sweptApart(p, takes["one front"], [4]float64{0.25, 0, 0, 0}, 1), "demand: yaw rate by the rear wheels")
	assert.Contains(t, r.Why, "the speed by the fastest wheel would make")
	r = byName(t, sweptApart(p, takes["one rear"], [4]float64{0, 0.4, 0.2, -0.2}, 1), "demand: yaw rate by the rear wheels")
	assert.Contains(t, r.Why, "would make, and the policy's speed_from names others")
}

// Before anything is played it is said where wheels that slip tell nothing.
func TestWhereWheelsThatSlipTellNothing(t *testing.T) {
	for _, x := range []struct {
		name   string
		change func(p *law.Policy)
		slip   [4]float64
		why    string // "": it is asked
	}{
		{"the mean", func(*law.Policy) {}, apartSlips["front axle"], ""},
		{"no word", func(p *law.Policy) { p.Demand.SpeedFrom = 0 }, apartSlips["front axle"], "the policy's demand has no speed_from"},
		{"little slip", func(*law.Policy) {}, [4]float64{0.01, 0.01, 0, 0}, "of whichever wheels the firmware takes the speed"},
		{"a demand that may be out by much", func(p *law.Policy) { p.Demand.Within = 0.3 }, apartSlips["front axle"], "of whichever wheels"},
		{"wheels that may be cut", func(p *law.Policy) { p.TractionControl = new(0.2) }, apartSlips["front axle"], "traction_control may cut its motor"},
		{"wheels that are not", func(p *law.Policy) { p.TractionControl = new(0.9) }, apartSlips["front axle"], ""},
	} {
		t.Run(x.name, func(t *testing.T) {
			p := sweepPolicy()
			p.DeadBand, p.Demand.SpeedFrom = nil, law.SpeedFromMean
			x.change(p)
			e := sweeping{board: good, policy: p}.play()
			e.Car = &apartCar
			for i := range e.Steps {
				e.Steps[i].Slip = x.slip
				if x.name == "a demand that may be out by much" {
					e.Steps[i].Levels = [2]float64{0.1 * e.Steps[i].Demand, 1.9 * e.Steps[i].Demand}
				}
			}
			planned := assertions.Plan(assertions.PolicyBranch{Of: "demand", Step: "sweep"}, e)
			require.Len(t, planned, 1)
			assert.Equal(t, x.why == "", planned[0].Asked, "%+v", planned)
			assert.Contains(t, planned[0].Why, x.why)
			if x.why == "" {
				assert.Equal(t, "demand: yaw rate by the mean of all wheels", planned[0].Name)
			}
		})
	}
}
