package plant_test

import (
	"fmt"

	"hilrig/plant"
)

// A car of scale 1:8 drives straight on at 8 m/s, then steers 2 degrees to the left
// for a second with a little torque on every wheel.
func ExampleModel_Step() {
	car := plant.Car{
		Mass: 4.2, YawInertia: 0.085, FrontAxle: 0.17, RearAxle: 0.16, CGHeight: 0.06,
		FrontTrack: 0.26, RearTrack: 0.255, RollShare: 0.55,
		WheelRadius: 0.054, WheelInertia: 2.2e-4,
		Tyre: plant.Tyre{
			LongitudinalB: 11, LongitudinalC: 1.6, LongitudinalMu: 1.05,
			LateralB: 9, LateralC: 1.45, LateralMu: 0.98,
		},
	}
	model, err := plant.New(car)
	if err != nil {
		fmt.Println(err)
		return
	}
	model.Reset(plant.State{Vx: 8, Wheel: car.WheelRates(8, 0, 0)})
	in := plant.Input{Steer: 0.035, Torque: [4]float64{.03, .03, .03, .03}}
	for range 1000 {
		model.Step(in, 0.001)
	}
	s := model.State()
	fmt.Printf("%.2f m/s, %.2f rad/s, %.2f m/s^2\n", s.Vx, s.YawRate, model.Output().LateralAccel)
	fmt.Printf("single track: %.2f rad/s\n", car.SingleTrack().YawGain(s.Vx)*in.Steer)
	// Output:
	// 8.18 m/s, 0.79 rad/s, 6.41 m/s^2
	// single track: 0.87 rad/s
}
