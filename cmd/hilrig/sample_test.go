package main

import (
	"fmt"

	"hilrig/suites/record"
)

// sampleResult is a result with every kind of verdict: six variants that pass,
// two of which three fail in the second case, an undecided and skipped ones.
func sampleResult() *record.Result {
	check := func(name, quantity, verdict string, at int64, line int, x, uncertainty float64, low, high *float64) record.Check {
		c := record.Check{
			Name: name, Verdict: verdict, Step: "hold", Quantity: quantity, Unit: "%",
			Estimate: record.Number(x), Low: record.Number(x - uncertainty), High: record.Number(x + uncertainty),
			LimitLow: low, LimitHigh: high, AtNS: at, File: "split.yaml", Line: line,
		}
		if verdict != record.Pass {
			c.Excerpt = fmt.Sprintf("  %d | - {policy: understeer}", line)
			c.Why = "outside_rear was lowered; the policy has it raised"
		}
		return c
	}
	n := record.Number
	r := &record.Result{
		Seed:     7,
		Car:      record.Source{Name: "bramble", File: "demo/bramble.yaml"},
		Bench:    record.Source{Name: "simulated", File: "demo/bench.yaml"},
		Board:    record.Source{Name: "built-in:left_right"},
		Label:    "v1.2",
		Firmware: "0123456789abcdef0123456789abcdef",
		Guessed:  []record.Note{{Key: "yaw_inertia", Text: "0.26 kg m2"}, {Key: "cg_height", Text: "60 mm"}},
		NotAsked: []record.Note{{Key: "cap", Text: "the policy leaves it out"}, {Key: "reverse", Text: "the policy leaves it out"}},
		Suites:   []record.Suite{{Name: "torque split", File: "split.yaml"}, {Name: "loss", File: "loss.yaml"}},
	}
	split := &r.Suites[0]
	for i, turn := range []string{"turn left", "turn right", "turn left, speed 8 m/s"} {
		at := int64(i+1) * 1_500_000_000
		split.Cases = append(split.Cases, record.Case{Name: "on demand, no shift", Variant: turn, Line: 5, Checks: []record.Check{
			check("on demand: front_left unchanged", "shift of front_left", record.Pass, at, 7, 0.01*float64(i), 0.12, n(-1), n(1)),
		}})
	}
	for i, turn := range []string{"turn left", "turn right", "turn left, speed 8 m/s"} {
		at := int64(i+5)*1_500_000_000 + 250_000
		verdict, x := record.Fail, -8.0213
		if i == 2 {
			verdict, x = record.Pass, 8.1
		}
		split.Cases = append(split.Cases, record.Case{Name: "understeer turns torque in", Variant: turn, Line: 9, Checks: []record.Check{
			check("understeer: outside_rear raised", "shift of outside_rear", verdict, at, 12, x, 0.11, n(1), nil),
			check("understeer: inside_rear unchanged", "shift of inside_rear", record.Pass, at, 12, 0, 0.09, n(-1), n(1)),
		}})
	}
	unsure := check("zero gain: front_left unchanged", "shift of front_left", record.Undecided, 12_000_000_000, 20, 0.9, 0.2, n(-1), n(1))
	unsure.Why = "the interval reaches over the limit; observe for 1.6 s"
	split.Cases = append(split.Cases, record.Case{Name: "zero gain", Line: 18, Checks: []record.Check{unsure, {Name: "zero gain: sum kept", Verdict: record.NotAsked}}})
	r.Suites[1].Cases = []record.Case{
		{Name: "throttle lost", Variant: "turn left", Verdict: record.Skipped, Why: "may be played up to signals_only"},
		{Name: "throttle lost", Variant: "turn right", Verdict: record.Skipped, Why: "may be played up to signals_only"},
		{Name: "yaw lost", Verdict: record.Skipped, Why: "may be played up to signals_only"},
	}
	r.Seal()
	return r
}
