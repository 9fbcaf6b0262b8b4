package plant

// Wheel is one of the four wheels. Arrays of four stand in this order.
type Wheel int

// The wheels.
const (
	FrontLeft Wheel = iota
	FrontRight
	RearLeft
	RearRight
)

// Wheels lists the four wheels in order.
var Wheels = [4]Wheel{FrontLeft, FrontRight, RearLeft, RearRight}

var wheelNames = [4]string{"front_left", "front_right", "rear_left", "rear_right"}

// String returns the wheel's name as it stands in files, "rear_left".
func (w Wheel) String() string { return wheelNames[w] }
