package record

import (
	"math"
	"time"
)

// began is when the samples began, in a fixed zone.
var began = time.Date(2026, 3, 1, 19, 4, 5, 0, time.FixedZone("", 3600))

// sample is a result of two suites: a failed, an undecided, a skipped and two
// passed cases.
func sample() *Result {
	one := func(verdict string, estimate float64) Check {
		return Check{
			Name: "understeer: outside_rear raised", Verdict: verdict, Step: "hold",
			Quantity: "shift of outside_rear (rear_right)", Unit: "%",
			Estimate: Number(estimate), Low: Number(estimate - 0.1), High: Number(estimate + 0.1), LimitLow: Number(1),
			AtNS: 1_234_567_890, File: "split.yaml", Line: 9,
		}
	}
	return &Result{
		Seed:     1,
		Car:      Source{Name: "bramble", File: "demo/bramble.yaml", Digest: "aa"},
		Bench:    Source{Name: "simulated", File: "demo/bench.yaml", Digest: "bb"},
		Board:    Source{Name: "built-in"},
		Delay:    "two ticks of 1 ms",
		NotAsked: []Note{{Key: "cap", Text: "the policy has no cap"}},
		Suites: []Suite{
			{Name: "torque split", File: "split.yaml", Cases: []Case{
				{Name: "understeer", Variant: "turn left", Line: 6, Checks: []Check{one(Pass, 8), one(Pass, 7.5)}},
				{Name: "understeer", Variant: "turn right", Line: 6, Checks: []Check{one(Fail, -8), one(Pass, 7)}},
				{Name: "<on demand> & \"straight\"", Line: 12, Checks: []Check{one(Undecided, 1), one(NotAsked, math.NaN())}},
			}},
			{Name: "loss", File: "loss.yaml", Cases: []Case{
				{Name: "throttle lost", Line: 4, Verdict: Skipped, Why: "may be played up to signals_only", StartNS: 5},
				{Name: "yaw lost", Line: 9, Checks: []Check{one(Pass, 2)}},
			}},
		},
	}
}

// spot is the place of a case in a plan.
type spot struct{ suite, index int }

// spots returns the places of all cases in plan order.
func (r *Result) spots() []spot {
	var spots []spot
	for i := range r.Suites {
		for j := range r.Suites[i].Cases {
			spots = append(spots, spot{i, j})
		}
	}
	return spots
}

// places returns all cases in plan order.
func (r *Result) places() []*Case {
	var places []*Case
	for _, s := range r.spots() {
		places = append(places, r.at(s.suite, s.index))
	}
	return places
}

// clean returns the sample with nothing but passes.
func clean() *Result {
	r := sample()
	for _, c := range r.places() {
		for i := range c.Checks {
			c.Checks[i].Verdict = Pass
		}
	}
	return r
}
