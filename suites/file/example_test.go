package file_test

import (
	"fmt"

	"hilrig/suites/demo"
	"hilrig/suites/file"
	"hilrig/suites/language"
)

func ExampleParseSuite() {
	car, err := file.ParseCar(language.Source{Path: demo.CarPath, Data: demo.CarYAML})
	if err != nil {
		fmt.Println(err)
		return
	}
	bench, err := file.ParseBench(language.Source{Path: demo.BenchPath, Data: demo.BenchYAML})
	if err != nil {
		fmt.Println(err)
		return
	}
	suite, err := file.ParseSuite(language.Source{Path: "mine.yaml", Data: []byte(`suite: mine
defaults: {throttle: 40 %, gain: 50 %}
cases:
  - case: understeer
    each: {turn: [left, right], speed: [2 m/s, 8 m/s]}
    hold: {steer: 8 deg, yaw_rate: 70 % of demand}
    expect: [{policy: understeer}]
`)}, car, bench)
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, c := range suite.Cases {
		hold := c.Steps[len(c.Steps)-1]
		fmt.Printf("%s, %s: %.3f rad/s\n", c.Name, c.Variant, hold.Values.YawRate)
	}
	// Output:
	// understeer, turn left, speed 2 m/s: 0.573 rad/s
	// understeer, turn left, speed 8 m/s: 1.536 rad/s
	// understeer, turn right, speed 2 m/s: -0.573 rad/s
	// understeer, turn right, speed 8 m/s: -1.536 rad/s
}

func ExampleProblems() {
	_, err := file.ParseSuite(language.Source{Path: "mine.yaml", Data: []byte(`suite: mine
defaults: {speed: 4, throttle: 40 %, gain: 50 %}
cases:
  - case: understeer
    hold: {steer: 8 deg, yaw_rate: 70 % of demand}
    expect: [{motor: [rear], is: unchanged}]
`)}, nil, nil)
	fmt.Println(err)
	// Output:
	// mine.yaml:2:19: speed: "4" has no unit; a bare number: write it like 4 m/s
	//   2 | defaults: {speed: 4, throttle: 40 %, gain: 50 %}
	//     |                   ^
	// mine.yaml:6:23: motor "rear" is not known; use rear_left, rear_right, outside_rear or inside_rear
	//   6 |     expect: [{motor: [rear], is: unchanged}]
	//     |                       ^
}

func ExampleParseStand() {
	stand, err := file.ParseStand(language.Source{Path: demo.StandPath, Data: demo.StandYAML}, nil)
	if err != nil {
		fmt.Println(err)
		return
	}
	for i := range stand.Held {
		h := &stand.Held[i]
		fmt.Printf("%v: torque by %v at %d levels, %d cycles\n", h, stand.TorqueBy(h), len(stand.Plan.Levels), stand.Plan.Cycles)
	}
	by, _ := stand.Overshoot()
	fmt.Printf("ends at %.0f rad/s, and may go %.1f rad/s beyond: the disc is rated for %.0f rad/s\n", *stand.StopAt.Speed, by, stand.Disc.Rated)
	// Output:
	// speed 60 rad/s: torque by spin_up at 21 levels, 3 cycles
	// ends at 550 rad/s, and may go 99.6 rad/s beyond: the disc is rated for 900 rad/s
}
