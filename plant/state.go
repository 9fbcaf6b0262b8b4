package plant

// State is all that the model carries from step to step. The zero value is a
// car at rest at the origin, heading along x.
type State struct {
	Vx, Vy  float64    // m/s, of the centre of gravity, in the car's axes
	YawRate float64    // rad/s
	Heading float64    // rad from the x axis of the ground, not wrapped
	X, Y    float64    // m, of the centre of gravity, on the ground
	Wheel   [4]float64 // rad/s
	Steer   float64    // rad, mean of the front wheels that the servo has reached; without a servo, what was asked for last
	Torque  [4]float64 // N m at the wheels that the motors have reached; unused without a motor lag
}

// Input is what acts on the car during a step; it is constant over the step.
type Input struct {
	Steer   float64    // rad, mean of the front wheels that is asked for
	Command [4]float64 // motor commands, -1..1, clipped; unused when the car has no motor
	Torque  [4]float64 // N m at the wheels; used only when the car has no motor (Motor.StallTorque 0)

	// Unload is the share of its forces that each wheel loses because a bump throws it
	// up, 0 on the ground to 1 in the air, clipped. The other wheels' loads stay: a bump is short.
	Unload [4]float64
}

// Output is what could be measured at one state under one input.
type Output struct {
	LongitudinalAccel float64    // m/s^2, of the centre of gravity, in the car's axes
	LateralAccel      float64    // m/s^2, of the centre of gravity, in the car's axes
	YawAccel          float64    // rad/s^2
	SteerAngle        [2]float64 // rad, left and right front wheel
	Load              [4]float64 // N, on the tyres, never below 0
	LongitudinalForce [4]float64 // N, of the ground on the tyre, along the wheel
	LateralForce      [4]float64 // N, of the ground on the tyre, to the wheel's left
	Torque            [4]float64 // N m, of the motors on the wheels
	SlipRatio         [4]float64 // longitudinal slip, positive driving
	LateralSlip       [4]float64 // positive when the wheel moves to its left
	SlipPower         [4]float64 // W, lost in the contact, never below 0
	DragForce         float64    // N, positive against forward motion
}
