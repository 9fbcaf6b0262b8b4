package suites_test

import (
	"context"
	"fmt"

	"hilrig/suites"
	"hilrig/suites/demo"
	"hilrig/suites/language"
)

// A suite is loaded with the demo's car and bench, and run on a built-in board with a
// seeded fault, which it finds.
func ExampleLoad() {
	setup, err := suites.Load(suites.Files{
		Car:   language.Source{Path: demo.CarPath, Data: demo.CarYAML},
		Bench: language.Source{Path: demo.BenchPath, Data: demo.BenchYAML},
		Suites: []language.Source{{Path: "mine.yaml", Data: []byte(`suite: mine
defaults: {speed: 4 m/s, steer: 8 deg, throttle: 40 %, gain: 50 %}
cases:
  - case: understeer
    hold: {yaw_rate: 70 % of demand}
    expect: [{policy: understeer}]
  - case: oversteer
    hold: {yaw_rate: 130 % of demand}
    expect: [{policy: oversteer}]
`)}},
		Board: "built-in:one_branch",
		Seed:  1,
	})
	if err != nil {
		fmt.Println(err)
		return
	}
	result, driven, err := setup.Run(context.Background(), suites.Options{})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(result.Outcome, "after", driven)
	for _, c := range result.Suites[0].Cases {
		fmt.Println(c.Name, c.Verdict)
	}
	// Output:
	// NO-GO after 7.863 s
	// understeer pass
	// oversteer fail
}
