package plant

// Car is all that the model needs to know of a car, SI units. A zero value of
// an extra switches it off: with Motor.StallTorque, Servo.Rate and Servo.Lag 0 and Steering empty, this is
// the plain configuration.
type Car struct {
	Mass       float64 // kg
	YawInertia float64 // kg m^2, about z through the centre of gravity
	FrontAxle  float64 // m, centre of gravity to front axle, "a"
	RearAxle   float64 // m, centre of gravity to rear axle, "b"
	CGHeight   float64 // m above ground
	FrontTrack float64 // m
	RearTrack  float64 // m
	RollShare  float64 // share of the lateral load transfer that the front axle takes, 0..1

	WheelRadius  float64 // m, rolling
	WheelInertia float64 // kg m^2, each, with what turns with it

	Tyre     Tyre
	Aero     Aero
	Motor    Motor
	Servo    Servo
	Steering Steering

	Gravity    float64 // m/s^2; 0: 9.80665
	AirDensity float64 // kg/m^3; 0: 1.225
}

// Tyre is a Magic Formula tyre with combined slip by similarity; the same at
// all four wheels.
type Tyre struct {
	LongitudinalB, LongitudinalC, LongitudinalE float64
	LateralB, LateralC, LateralE                float64
	LongitudinalMu, LateralMu                   float64 // peak friction at Load
	Load                                        float64 // N, the load Fz0 that the friction is given at
	LoadSensitivity                             float64 // qmu: mu falls by this share when the load rises by Load
}

// Aero is drag and downforce.
type Aero struct {
	DragArea      float64 // m^2, drag coefficient times area
	FrontLiftArea float64 // m^2, positive presses down
	RearLiftArea  float64 // m^2
}

// Motor is one wheel's motor with its speed controller, seen at the wheel.
type Motor struct {
	StallTorque  float64 // N m at the wheel at standstill and full command, without current limit
	NoLoadSpeed  float64 // rad/s of the wheel at full command
	TorqueLimit  float64 // N m at the wheel that the current limit allows; 0: no limit
	DragBrake    float64 // share of StallTorque that brakes at idle command and NoLoadSpeed
	TorqueLagTau float64 // s, first-order lag of the torque; 0: none
}

// Servo is the steering servo: what the front wheels make of the steer command.
type Servo struct {
	Rate float64 // rad/s at the wheels; 0: no limit
	Lag  float64 // s, first order; 0: none
}

// Steering is the table of measured wheel angles over the receiver's pulse.
// Empty: both wheels follow the steer command exactly.
type Steering struct {
	Points []SteerPoint // by rising Pulse, at least two
	// ByTable says that whoever steers knows the table: the pulse of a mean wheel angle is the
	// table's own, and not that of the straight line through it.
	ByTable bool
}

// SteerPoint is one row of the steering table.
type SteerPoint struct {
	Pulse       float64 // s, width of the steering pulse
	Left, Right float64 // rad, angle of the left and right front wheel, positive to the left
}
