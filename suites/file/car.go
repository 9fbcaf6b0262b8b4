package file

import (
	"fmt"
	"strings"

	"hilrig/assertions"
	"hilrig/assertions/law"
	"hilrig/plant"
	"hilrig/suites/language"
)

// CarTable declares the car file.
var CarTable = language.NewTable("a car file", "The car that is played to the board, and the owner's policy. The short form is mass, wheelbase, track, wheel_radius and steering; what else is left out is guessed and said so in every report.", []language.Key{
	{Name: "car", Kind: language.Text, Required: true, Example: "my car", Doc: "name of the car"},
	{Name: "about", Kind: language.Text, Example: "What it is for.", Doc: "what it is, in a sentence"},
	{Name: "mass", Kind: language.Measure, Quantity: language.Mass, Required: true, Least: "0.1 kg", Most: "100 kg", Doc: "mass ready to drive"},
	{Name: "wheelbase", Kind: language.Measure, Quantity: language.Length, Required: true, Least: "50 mm", Most: "2 m", Doc: "front to rear axle"},
	{Name: "track", Kind: language.Measure, Quantity: language.Length, Least: "30 mm", Most: "2 m", Example: "300 mm", Doc: "left to right wheel, middle of the tread, both axles"},
	{Name: "front_track", Kind: language.Measure, Quantity: language.Length, Least: "30 mm", Most: "2 m", Example: "300 mm", Doc: "track of the front axle, where the axles differ"},
	{Name: "rear_track", Kind: language.Measure, Quantity: language.Length, Least: "30 mm", Most: "2 m", Example: "300 mm", Doc: "track of the rear axle, where the axles differ"},
	{Name: "wheel_radius", Kind: language.Measure, Quantity: language.Length, Required: true, Least: "10 mm", Most: "500 mm", Example: "54 mm", Doc: "rolling radius: distance rolled in ten turns over 62.83"},
	{Name: "steering", Kind: language.Group, Many: language.List, Required: true, Table: steerPointTable, Doc: "measured wheel angles over the receiver's steering pulse, by rising pulse, at least two rows"},
	{Name: "weight_front", Kind: language.Measure, Quantity: language.Share, Least: "10 %", Most: "90 %", Doc: "share of the weight on the front axle"},
	{Name: "yaw_inertia", Kind: language.Measure, Quantity: language.Inertia, Least: "0.00001 kg m2", Most: "100 kg m2", Example: "0.075 kg m2", Doc: "about the vertical axis through the centre of gravity"},
	{Name: "cg_height", Kind: language.Measure, Quantity: language.Length, Least: "0 mm", Most: "1 m", Example: "70 mm", Doc: "centre of gravity above ground"},
	{Name: "roll_share", Kind: language.Measure, Quantity: language.Share, Least: "0 %", Most: "100 %", Example: "50 %", Doc: "share of the lateral load transfer that the front axle takes"},
	{Name: "wheel_inertia", Kind: language.Measure, Quantity: language.Inertia, Least: "0.0000001 kg m2", Most: "1 kg m2", Example: "0.0003 kg m2", Doc: "one wheel with all that turns with it"},
	{Name: "tyre", Kind: language.Group, Table: tyreTable, Doc: "the tyre on its ground"},
	{Name: "aero", Kind: language.Group, Table: aeroTable, Doc: "drag and downforce"},
	{Name: "motor", Kind: language.Group, Table: motorTable, Doc: "one wheel's motor with its speed controller, seen at the wheel"},
	{Name: "servo", Kind: language.Group, Table: servoTable, Doc: "the steering servo"},
	{Name: "policy", Kind: language.Group, Table: PolicyTable, Doc: "what the board should do; what is left out is not asked"},
})

var steerPointTable = language.NewTable("a row of the steering table", "", []language.Key{
	{Name: "pulse", Kind: language.Measure, Quantity: language.Duration, Required: true, Least: "500 us", Most: "2500 us", Example: "1500 us", Doc: "width of the steering pulse"},
	{Name: "left", Kind: language.Measure, Quantity: language.Angle, Required: true, Least: "-70 deg", Most: "70 deg", Example: "0 deg", Doc: "angle of the left front wheel, positive to the left"},
	{Name: "right", Kind: language.Measure, Quantity: language.Angle, Required: true, Least: "-70 deg", Most: "70 deg", Example: "0 deg", Doc: "angle of the right front wheel, positive to the left"},
})

var tyreTable = language.NewTable("a tyre", "Magic Formula with combined slip; slip is a ratio, not a percentage or an angle in degrees.", []language.Key{
	{Name: "longitudinal", Kind: language.Group, Required: true, Table: formulaTable, Doc: "drive and brake force over slip"},
	{Name: "lateral", Kind: language.Group, Required: true, Table: formulaTable, Doc: "side force over slip"},
	{Name: "load", Kind: language.Measure, Quantity: language.Force, Least: "0.1 N", Most: "1000 N", Doc: "wheel load that the friction is given at; left out: a quarter of the weight"},
	{Name: "load_sensitivity", Kind: language.Measure, Quantity: language.Factor, Least: "0", Most: "1", Example: "0.1", Doc: "friction lost when the load doubles, as a fraction; left out: 0"},
})

var formulaTable = language.NewTable("one direction of a tyre", "", []language.Key{
	{Name: "b", Kind: language.Measure, Quantity: language.Factor, Required: true, Least: "0.1", Most: "100", Example: "4", Doc: "stiffness factor"},
	{Name: "c", Kind: language.Measure, Quantity: language.Factor, Required: true, Least: "1.01", Most: "3", Example: "1.6", Doc: "shape factor"},
	{Name: "e", Kind: language.Measure, Quantity: language.Factor, Required: true, Least: "-20", Most: "1", Example: "0", Doc: "curvature factor"},
	{Name: "mu", Kind: language.Measure, Quantity: language.Factor, Required: true, Least: "0.01", Most: "5", Example: "0.6", Doc: "peak friction at load"},
})

var aeroTable = language.NewTable("the aerodynamics", "", []language.Key{
	{Name: "drag_area", Kind: language.Measure, Quantity: language.Area, Required: true, Least: "0 m2", Most: "5 m2", Doc: "drag coefficient times frontal area"},
	{Name: "front_lift_area", Kind: language.Measure, Quantity: language.Area, Least: "-5 m2", Most: "5 m2", Example: "0 m2", Doc: "downforce coefficient times area, front axle; positive presses down; left out: 0"},
	{Name: "rear_lift_area", Kind: language.Measure, Quantity: language.Area, Least: "-5 m2", Most: "5 m2", Example: "0 m2", Doc: "the same, rear axle"},
})

var motorTable = language.NewTable("a motor", "", []language.Key{
	{Name: "stall_torque", Kind: language.Measure, Quantity: language.Torque, Required: true, Least: "1 mN m", Most: "1000 N m", Example: "2 N m", Doc: "at the wheel, at standstill and full command, without current limit"},
	{Name: "no_load_speed", Kind: language.Measure, Quantity: language.AngularRate, Required: true, Least: "1 rad/s", Most: "5000 rad/s", Example: "280 rad/s", Doc: "of the wheel at full command"},
	{Name: "torque_limit", Kind: language.Measure, Quantity: language.Torque, Words: []string{"none"}, Least: "1 mN m", Most: "1000 N m", Doc: "at the wheel, that the current limit allows; left out: none"},
	{Name: "drag_brake", Kind: language.Measure, Quantity: language.Share, Least: "0 %", Most: "100 %", Example: "5 %", Doc: "share of stall torque that brakes at idle command and no-load speed; left out: 0 %"},
	{Name: "torque_lag", Kind: language.Measure, Quantity: language.Duration, Least: "0.5 ms", Most: "1 s", Example: "4 ms", Doc: "first-order lag of the torque; left out: none"},
})

var servoTable = language.NewTable("a steering servo", "", []language.Key{
	{Name: "rate", Kind: language.Measure, Quantity: language.AngularRate, Required: true, Words: []string{"unlimited"}, Least: "1 deg/s", Most: "10000 deg/s", Example: "300 deg/s", Doc: "of the front wheels"},
	{Name: "lag", Kind: language.Measure, Quantity: language.Duration, Least: "0.5 ms", Most: "1 s", Example: "10 ms", Doc: "first order; left out: none"},
})

// ParseCar reads a car file. The error is of type [language.Problems]. Numbers are SI.
func ParseCar(s language.Source) (*Car, error) {
	r, v := open(s, CarTable)
	if v == nil {
		return nil, r.Problems.Sorted()
	}
	c := &Car{Source: s, Name: v.Word("car")}
	r.geometry(&c.Car, v)
	r.steering(&c.Car, v)
	r.policy(c, v.Sub("policy"))
	c.Car.Steering.ByTable = c.Policy.Demand == nil || !c.Policy.Demand.SteerLinear
	c.wheelbase = r.PlaceOf(v.NodeAt("wheelbase"))
	c.demanded = r.PlaceOf(v.Sub("policy").Sub("demand").NodeAt("wheelbase"))
	c.measured = map[string]language.Place{}
	for _, key := range []string{"mass", "wheel_radius", "track", "front_track", "yaw_inertia", "motor"} {
		c.measured[key] = r.PlaceOf(v.NodeAt(key))
	}
	c.measured["understeer_gradient"] = r.PlaceOf(v.Sub("policy").Sub("demand").NodeAt("understeer_gradient"))
	if len(r.Problems) > 0 {
		return nil, r.Problems.Sorted()
	}
	c.Car.Mass = v.Number("mass")
	c.Car.WheelRadius = v.Number("wheel_radius")
	c.fill(v)
	if err := c.Car.Validate(); err != nil {
		r.Report(v.Node, strings.ReplaceAll(err.Error(), "\n", "; "), "")
		return nil, r.Problems.Sorted()
	}
	return c, nil
}

// geometry reads wheelbase and tracks.
func (r *reader) geometry(c *plant.Car, v *language.Mapping) {
	both, front, rear := v.Written("track"), v.Written("front_track"), v.Written("rear_track")
	switch {
	case both && (front || rear):
		r.Report(v.Node.Key("track"), "track stands beside front_track or rear_track", "give track alone, or front_track and rear_track")
	case !both && !(front && rear):
		r.Report(v.Node, "key track is missing in a car file", "add track: 300 mm, or front_track and rear_track")
	case both:
		c.FrontTrack, c.RearTrack = v.Number("track"), v.Number("track")
	default:
		c.FrontTrack, c.RearTrack = v.Number("front_track"), v.Number("rear_track")
	}
}

// steering reads the steering table and sees to it that its line has a slope.
func (r *reader) steering(c *plant.Car, v *language.Mapping) {
	rows := v.Get("steering")
	if rows == nil {
		return
	}
	if len(rows.List) < 2 {
		r.Report(rows.Node, "the steering table has one row", "give at least two, with the pulse at each end")
		return
	}
	for _, row := range rows.List {
		t := row.Mapping
		if !t.Has("pulse") || !t.Has("left") || !t.Has("right") {
			return
		}
		p := plant.SteerPoint{Pulse: t.Number("pulse"), Left: t.Number("left"), Right: t.Number("right")}
		if n := len(c.Steering.Points); n > 0 && p.Pulse <= c.Steering.Points[n-1].Pulse {
			r.Report(t.Get("pulse").Node, fmt.Sprintf("pulse %s is not above the row before", t.Get("pulse").Node.Text), "order the rows by rising pulse")
			return
		}
		c.Steering.Points = append(c.Steering.Points, p)
	}
	points := c.Steering.Points
	rising := points[1].Left+points[1].Right > points[0].Left+points[0].Right
	for i := 1; i < len(points); i++ {
		step := points[i].Left + points[i].Right - points[i-1].Left - points[i-1].Right
		if step == 0 || step > 0 != rising {
			r.Report(rows.List[i].Node, "the mean wheel angle does not go on in one direction", "measure this row again: angles are positive to the left")
		}
	}
}

// OnDemandSlipping returns what [Car.OnDemand] does, of wheels that slip by so much, in the order of plant.Wheels.
func (c *Car) OnDemandSlipping(speed, steer float64, slip *[4]float64) float64 {
	d := c.Policy.Demand
	if d == nil || *slip == [4]float64{} {
		return c.OnDemand(speed, steer)
	}
	return d.OnDemand(speed, steer, func(yaw float64) [4]float64 {
		hubs := c.Car.HubSpeeds(speed, yaw, steer)
		return assertions.Slipping(hubs, slip)
	})
}

// OnDemand returns the yaw rate in rad/s with which the car turns just as its policy demands, at a speed in m/s
// and a mean steer angle in rad, by the wheels whose speed the firmware takes; 0 where the policy declares no
// demand. The mean of all four goes, to a thousandth, at the car's speed, and counts as that.
func (c *Car) OnDemand(speed, steer float64) float64 {
	switch d := c.Policy.Demand; {
	case d == nil:
		return 0
	case d.SpeedFrom <= law.SpeedFromMean:
		return d.YawRate(speed, steer)
	default:
		return d.OnDemand(speed, steer, func(yaw float64) [4]float64 { return c.Car.HubSpeeds(speed, yaw, steer) })
	}
}
