package file_test

import (
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/assertions/law"
	"hilrig/plant"
	"hilrig/plant/portable"
	"hilrig/rig/interlock"
	"hilrig/rig/signal"
	"hilrig/rig/trace"
	"hilrig/stimulus/wire"
	"hilrig/suites/demo"
	"hilrig/suites/file"
	"hilrig/suites/language"
)

const deg = math.Pi / 180

// rad converts as the files are converted, one rounding each.
func rad(degrees float64) float64 { return degrees * math.Pi / 180 }

func TestDemoCar(t *testing.T) {
	c, _ := bramble(t)
	assert.Equal(t, "bramble", c.Name)
	assert.Equal(t, 3.9, c.Car.Mass)
	assert.Equal(t, 0.3, c.Car.FrontTrack)
	assert.Equal(t, 0.3, c.Car.RearTrack)
	assert.Equal(t, 0.054, c.Car.WheelRadius)
	assert.InDelta(t, 0.33*0.43, c.Car.FrontAxle, 1e-15, "57 % of the weight stands on the front axle")
	assert.InDelta(t, 0.33, c.Car.FrontAxle+c.Car.RearAxle, 1e-15)
	require.Len(t, c.Car.Steering.Points, 5)
	assert.Equal(t, plant.SteerPoint{Pulse: 0.001, Left: rad(-27.6), Right: rad(-32.4)}, c.Car.Steering.Points[0])
	assert.Equal(t, plant.Motor{StallTorque: 2, NoLoadSpeed: 280, TorqueLimit: 0.5, DragBrake: 0.05, TorqueLagTau: 0.004}, c.Car.Motor)

	p := c.Policy
	assert.Equal(t, &law.Demand{Wheelbase: 0.33, UndersteerGradient: 0.0028, SpeedFrom: law.SpeedFromMean, SteerLinear: true, Within: 0.05}, p.Demand)
	assert.Equal(t, law.TurnFromSteer, p.TurnFrom)
	assert.Equal(t, law.OppositeLockOversteer, p.OppositeLock)
	assert.Equal(t, &law.Split{Raise: []law.Corner{"outside_rear"}, Lower: []law.Corner{"inside_front"}}, p.Understeer)
	assert.Equal(t, &law.Split{Raise: []law.Corner{"outside_front"}, Lower: []law.Corner{"outside_rear"}}, p.Oversteer)
	assert.Equal(t, &law.ShiftAt{Error: rad(60), Gain: 0.5, Is: 0.08, Within: 0.1}, p.ShiftAt)
	assert.Equal(t, &law.Cap{Of: 0.92, SteerAbove: rad(2)}, p.Cap)
	assert.Equal(t, 0.0, *p.Floor)
	assert.Equal(t, 0.0, *p.DeadBand)
	assert.Equal(t, 0.5, p.Standstill.From)
	assert.Equal(t, 200.0, *p.LoopRate)
	assert.Equal(t, &law.Response{AtMost: 12 * signal.Millisecond, Quantile: 0.95}, p.Response)
	assert.Equal(t, 150*signal.Millisecond, p.ThrottleLost.Within)
	assert.Equal(t, 150*signal.Millisecond, p.SteerLost.Within)
	assert.Equal(t, 100*signal.Millisecond, p.YawLost.Within)
	assert.Equal(t, 100*signal.Millisecond, p.YawFrozen.Within)
	assert.Equal(t, 100*signal.Millisecond, p.EncoderLost.Within)
	assert.Equal(t, 500*signal.Microsecond, *p.OutputsTogether)
	assert.Equal(t, 0.05, *p.Spike)
	assert.True(t, p.SumKept)
	assert.Equal(t, law.ReverseNoShift, p.Reverse)
	assert.Equal(t, law.BadChecksumIgnored, p.BadChecksum)
	assert.Equal(t, law.RecoversByItself, p.Recovers)
	assert.Equal(t, [2]law.Outputs{law.OutputsIdle, law.OutputsIdle}, [2]law.Outputs{p.SafeState, p.StartState})
	assert.Equal(t, law.LimitCap, p.AtTheLimit)
	assert.Equal(t, law.ThrottleCurveNone, p.ThrottleCurve)
	assert.Equal(t, [3]float64{0.01, 0.01, 0.005}, [3]float64{p.DeadShift, *p.MotorsEqualWithin, *p.Resolution})
	assert.Equal(t, []string{"braking", "receiver_lost", "receiver_flag"},
		without(file.PolicyAsks(), c.Asked), "what the demo leaves out")
}

// without returns the words of all that are none of out.
func without(all, out []string) []string {
	return slices.DeleteFunc(slices.Clone(all), func(word string) bool { return slices.Contains(out, word) })
}

// The tyre of the demo is chosen so that the car is the one of its own policy.
func TestDemoCarHasTheUndersteerGradientOfItsPolicy(t *testing.T) {
	c, _ := bramble(t)
	assert.InEpsilon(t, c.Policy.Demand.UndersteerGradient, c.Car.SingleTrack().UndersteerGradient(), 0.01)
}

func TestShortFormSaysWhatWasGuessed(t *testing.T) {
	short := `car: short
mass: 4 kg
wheelbase: 300 mm
front_track: 250 mm
rear_track: 350 mm
wheel_radius: 50 mm
steering: [{pulse: 1000 us, left: 20 deg, right: 20 deg}, {pulse: 2000 us, left: -20 deg, right: -20 deg}]
`
	c, err := file.ParseCar(language.Source{Path: "short.yaml", Data: []byte(short)})
	require.NoError(t, err)
	var keys []string
	for _, g := range c.Guessed {
		keys = append(keys, g.Key)
		assert.NotEmpty(t, g.Value)
		assert.NotEmpty(t, g.From)
	}
	assert.Equal(t, []string{"weight_front", "yaw_inertia", "cg_height", "roll_share", "wheel_inertia", "tyre", "aero", "motor", "servo"}, keys)
	assert.InDelta(t, 4*(0.09+0.09)/12, c.Car.YawInertia, 1e-12, "uniform box of 300 x 300 mm")
	assert.Equal(t, 0.15, c.Car.FrontAxle)
	assert.InDelta(t, 0.075, c.Car.CGHeight, 1e-15)
	require.NoError(t, c.Car.Validate())
	assert.Empty(t, c.Asked)
	assert.Equal(t, law.Policy{}, c.Policy, "nothing is asked")

	full := short + "yaw_inertia: 0.06 kg m2\nroll_share: 60 %\nservo: {rate: unlimited}\n"
	c, err = file.ParseCar(language.Source{Path: "full.yaml", Data: []byte(full)})
	require.NoError(t, err)
	assert.Len(t, c.Guessed, 6)
	assert.Equal(t, 0.06, c.Car.YawInertia)
	assert.Equal(t, plant.Servo{}, c.Car.Servo)
}

func TestDemoBench(t *testing.T) {
	_, b := bramble(t)
	assert.Equal(t, "bramble bench", b.Name)
	assert.Equal(t, interlock.SignalsOnly, b.Power)
	assert.Equal(t, signal.Millisecond, b.Wiring.Tick)
	for _, w := range plant.Wheels {
		assert.Equal(t, wire.WheelSensor{Quadrature: wire.Quadrature{Lines: 256}}, b.Wiring.Encoders[w])
		assert.Equal(t, signal.Millisecond, b.Wiring.Motors[w].Servo.Idle)
		assert.Equal(t, 2*signal.Millisecond, b.Wiring.Motors[w].Servo.Full)
	}
	assert.Equal(t, wire.Pulse{Frame: 10 * signal.Millisecond, Low: signal.Millisecond, High: 2 * signal.Millisecond, HighValue: 1}, b.Wiring.Throttle)
	assert.Equal(t, b.Wiring.Throttle, b.Wiring.Gain)
	assert.Equal(t, []signal.PortSpec{{Name: "yaw_serial", Baud: 115200}}, b.Wiring.Ports)
	lsb := rad(0.0625)
	assert.Equal(t, []wire.Frame{{Port: "yaw_serial", Period: 5 * signal.Millisecond, Fields: []wire.Field{
		{Kind: wire.Constant, Bytes: []byte{0xA5, 0x5A}},
		{Kind: wire.Sequence, Size: 1},
		{Kind: wire.Integer, Size: 2, Signed: true, Channel: trace.YawRate.String(), Scale: lsb, Noise: rad(0.15), Min: rad(-2000), Max: rad(2000)},
		{Kind: wire.CRC8, Poly: 7, From: 2},
	}}}, b.Wiring.Frames)
	assert.Equal(t, "line", b.Board.Reset)
	assert.Equal(t, 3*signal.Second, b.Board.ReadyAfter)
	assert.Equal(t, signal.Second, b.Board.BetweenCases.For)
}

func TestCompleteTakesTheSteeringFromTheCar(t *testing.T) {
	c, b := bramble(t)
	w, err := file.Complete(b, c)
	require.NoError(t, err)
	assert.Equal(t, signal.Millisecond, w.Steer.Low)
	assert.Equal(t, 2*signal.Millisecond, w.Steer.High)
	assert.InDelta(t, -30*deg, w.Steer.LowValue, 1e-12, "30 deg per 500 us about 1500 us")
	assert.InDelta(t, 30*deg, w.Steer.HighValue, 1e-12)
	assert.Zero(t, b.Wiring.Steer.Low, "the bench itself is left as it was")

	_, err = file.Complete(b, &file.Car{Name: "none", Source: language.Source{Path: "none.yaml"}})
	assert.ErrorContains(t, err, "none.yaml: the steering table")
}

func TestWheelsOfABenchMayDiffer(t *testing.T) {
	_, b := changed(t, "  lines: 256", "  lines: 256\n  index: yes\n  wheels: {rear_left: {lines: 1024, index: no, reverse: yes}}")
	assert.Equal(t, wire.WheelSensor{Quadrature: wire.Quadrature{Lines: 256, Index: true}}, b.Wiring.Encoders[plant.FrontLeft])
	assert.Equal(t, wire.WheelSensor{Quadrature: wire.Quadrature{Lines: 1024, Reverse: true}}, b.Wiring.Encoders[plant.RearLeft])
}

func TestWheelSensorsOfOtherKinds(t *testing.T) {
	_, b := changed(t, "  kind: quadrature\n  lines: 256", "  kind: tacho\n  pulses: 12\n  wheels: {rear_left: {pulses: 24}}")
	assert.Equal(t, wire.WheelSensor{Kind: wire.TachoWheel, Tacho: wire.Tacho{Pulses: 12}}, b.Wiring.Encoders[plant.FrontLeft])
	assert.Equal(t, wire.WheelSensor{Kind: wire.TachoWheel, Tacho: wire.Tacho{Pulses: 24}}, b.Wiring.Encoders[plant.RearLeft])
	_, b = changed(t, "  kind: quadrature\n  lines: 256", "  kind: duty\n  period: 1 ms\n  least: 5 %\n  most: 95 %\n  steps: 16384\n  noise: 0.05 deg\n  wheels: {front_right: {reverse: yes}}")
	want := wire.Duty{Period: signal.Millisecond, Least: 0.05, Most: 0.95, Steps: 16384, Noise: 0.05 * deg}
	assert.Equal(t, wire.WheelSensor{Kind: wire.DutyWheel, Duty: want}, b.Wiring.Encoders[plant.FrontLeft])
	want.Reverse = true
	assert.Equal(t, wire.WheelSensor{Kind: wire.DutyWheel, Duty: want}, b.Wiring.Encoders[plant.FrontRight])
}

func TestFieldsAreInTheUnitOfTheirChannel(t *testing.T) {
	_, b := changed(t, "- {sequence: u8}", "- {sequence: u16, order: little}\n          - {channel: lateral_acceleration, as: u16, order: little, scale: 0.01 m/s2, offset: -300 m/s2, noise: 0.1 m/s2}")
	assert.Equal(t, wire.Field{Kind: wire.Sequence, Size: 2, LittleEndian: true}, b.Wiring.Frames[0].Fields[1])
	assert.Equal(t, wire.Field{Kind: wire.Integer, Size: 2, LittleEndian: true, Channel: "lateral_acceleration", Scale: 0.01, Offset: -300, Noise: 0.1},
		b.Wiring.Frames[0].Fields[2])
}

// Every parameter of a check comes through, and to the bytes: the check values are those of
// the crc-catalog crate 2.5.0 and the crc crate 2.0.0-rc.2 (READ), of the characters "1" to "9".
func TestChecksOfABench(t *testing.T) {
	for _, tt := range []struct {
		keys  string
		want  wire.Field
		bytes []byte
	}{
		{"check: crc16, poly: 0x1DCF, init: 0xFFFF, xor_out: 0xFFFF, from: 2",
			wire.Field{Kind: wire.CRC16, Poly: 0x1DCF, Init: 0xFFFF, XorOut: 0xFFFF, From: 2}, []byte{0xA8, 0x19}},
		{"check: crc16, poly: 0x1021, init: 0xFFFF, xor_out: 0xFFFF, reflected: yes, order: little, from: 2, to: 11",
			wire.Field{Kind: wire.CRC16, Poly: 0x1021, Init: 0xFFFF, XorOut: 0xFFFF, Reflected: true, LittleEndian: true, From: 2, To: 11}, []byte{0x6E, 0x90}},
		{"check: crc8, poly: 0x07, xor_out: 0x55, from: 2",
			wire.Field{Kind: wire.CRC8, Poly: 7, XorOut: 0x55, From: 2}, []byte{0xA1}},
	} {
		_, b := changed(t, "- {sequence: u8}\n          - {channel: yaw_rate, as: i16, order: big, scale: 0.0625 deg/s, noise: 0.15 deg/s, range: [-2000 deg/s, 2000 deg/s]}\n          - {check: crc8, poly: 0x07, init: 0, from: 2}",
			"- {bytes: [0x31, 0x32, 0x33, 0x34, 0x35, 0x36, 0x37, 0x38, 0x39]}\n          - {"+tt.keys+"}")
		fields := b.Wiring.Frames[0].Fields
		assert.Equal(t, tt.want, fields[len(fields)-1])
		noise := portable.NewNoise(1, "check")
		e, err := wire.NewFrames(b.Wiring.Frames[0], &noise, 0)
		require.NoError(t, err)
		assert.Equal(t, tt.bytes, e.Build(nil, nil)[11:], tt.keys)
	}
}

// changed reads the demo bench with one piece of its text replaced.
func changed(t *testing.T, from, to string) (*file.Car, *file.Bench) {
	t.Helper()
	car, _ := bramble(t)
	text := string(demo.BenchYAML)
	require.Contains(t, text, from)
	b, err := file.ParseBench(language.Source{Path: "changed.yaml", Data: []byte(strings.Replace(text, from, to, 1))})
	require.NoError(t, err)
	return car, b
}
