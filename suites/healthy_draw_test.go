package suites_test

import (
	"fmt"
	"strings"
	"text/template"

	"hilrig/plant/portable"
	"hilrig/rig/board"
	"hilrig/rig/signal"
	"hilrig/suites/language"
)

// inside is by how much what a policy declares exceeds what its board does: all
// quantities lie at least 10 % inside their limits.
const inside = 1.12

// healthy is a board drawn at random with the files that declare it.
type healthy struct {
	board      board.Settings
	car, bench language.Source
}

// lot draws.
type lot struct{ portable.Noise }

// between returns a number in low..high, in whole steps.
func (l *lot) between(low, high, step float64) float64 {
	n := int64((high-low)/step + 1.5)
	return low + float64(int64(l.Uint64()%uint64(n)))*step
}

func (l *lot) time(low, high, step signal.Time) signal.Time {
	return low + signal.Time(l.Uint64()%uint64((high-low)/step+1))*step
}

func (l *lot) coin() bool { return l.Uint64()%2 == 0 }

func pick[T any](l *lot, of ...T) T { return of[l.Uint64()%uint64(len(of))] }

// Pairs that help a car: towards the inside where it turns too little, and where
// it turns too much towards the outside, or with the grip of one side.
var (
	understeerPairs = []board.Split{
		{Raise: []board.Place{board.OutsideRear}, Lower: []board.Place{board.InsideFront}},
		{Raise: []board.Place{board.OutsideRear}, Lower: []board.Place{board.InsideRear}},
		{Raise: []board.Place{board.OutsideFront}, Lower: []board.Place{board.InsideFront}},
		{Raise: []board.Place{board.OutsideFront, board.OutsideRear}, Lower: []board.Place{board.InsideFront, board.InsideRear}},
	}
	oversteerPairs = []board.Split{
		{Raise: []board.Place{board.OutsideFront}, Lower: []board.Place{board.OutsideRear}},
		{Raise: []board.Place{board.InsideRear}, Lower: []board.Place{board.OutsideRear}},
		{Raise: []board.Place{board.InsideFront}, Lower: []board.Place{board.OutsideFront}},
		{Raise: []board.Place{board.InsideFront, board.InsideRear}, Lower: []board.Place{board.OutsideFront, board.OutsideRear}},
	}
)

// drawHealthy draws the n-th healthy board. What it makes of the least change of
// a steering pulse, 1 us, stays below what counts as a shift.
func drawHealthy(n uint64) healthy {
	l := &lot{portable.NewNoise(n, "healthy boards")}
	s := board.Bramble()
	const us, ms = signal.Microsecond, signal.Millisecond
	s.LoopPeriod = l.time(2*ms, 5*ms, 10*us)
	s.OutputPeriod = l.time(2200*us, 5*ms, 10*us)
	s.ClockError = int(l.between(-200, 200, 1))
	s.WheelRadius = l.between(0.040, 0.075, 0.001)
	s.EncoderLines = pick(l, 64, 100, 128, 200, 256, 360, 500)
	s.Baud = pick(l, 57600, 115200, 230400)
	s.SteerSpan, s.SteerAtSpan = 500*us, l.between(24, 32, 1)*degree
	if l.coin() {
		s.SteerSpan, s.SteerAtSpan = 400*us, l.between(22, 26, 1)*degree
	}
	if l.coin() {
		s.MotorIdle, s.MotorFull = 1100*us, 1900*us
	}
	s.Wheelbase = l.between(0.280, 0.450, 0.005)
	s.UndersteerGradient = l.between(0, 0.004, 0.0001)
	s.ShiftError = l.between(40, 80, 5) * degree
	s.ShiftIs = l.between(0.0008, 0.0016, 0.0001) * s.ShiftError / degree
	s.DeadBand = pick(l, 0, 0, 2*degree, 4*degree)
	s.TurnFrom = pick(l, board.TurnFromSteer, board.TurnFromYawRate)
	s.OppositeLock = pick(l, board.OppositeLockOversteer, board.OppositeLockNoShift)
	s.Understeer, s.Oversteer = pick(l, understeerPairs...), pick(l, oversteerPairs...)
	s.Cap, s.CapAbove = l.between(0.84, 0.98, 0.01), l.between(0, 4, 0.5)*degree
	s.Floor = pick(l, 0, 0, 0.02, 0.05)
	s.AtTheLimit = pick(l, board.LimitCap, board.LimitMovePartner)
	s.Standstill = l.between(0.3, 0.9, 0.1)
	s.ThrottleTimeout = l.time(60*ms, 150*ms, 10*ms)
	s.SteerTimeout = l.time(60*ms, 150*ms, 10*ms)
	s.YawTimeout = l.time(50*ms, 120*ms, 10*ms)
	s.YawFrozen = l.time(120*ms, 200*ms, 10*ms)
	s.EncoderTimeout = l.time(50*ms, 120*ms, 10*ms)
	s.Recovers = pick(l, board.ByItself, board.ByItself, board.AtThrottleAtIdle, board.AtPowerCycle)
	s.SafeState, s.StartState = pick(l, board.Idle, board.Silent), pick(l, board.Idle, board.Silent)
	frame := pick(l, 5*ms, 10*ms)
	receiver := pick(l, 7*ms, 10*ms, 20*ms)
	return healthy{s, source("car", carTemplate, declared(l, &s, frame)), source("bench", benchTemplate, map[string]any{
		"Lines": s.EncoderLines, "Receiver": 1 / receiver.Seconds(), "Baud": s.Baud, "Frames": 1 / frame.Seconds(),
		"MotorIdle": int64(s.MotorIdle / us), "MotorFull": int64(s.MotorFull / us),
	})}
}

// declared returns what a car file says of a board with these settings.
func declared(l *lot, s *board.Settings, frame signal.Time) map[string]any {
	// What comes after a loss was noticed: a turn of the loop, and the motor
	// frames under way.
	after := s.LoopPeriod + 2*s.OutputPeriod + s.MotorFull
	within := func(timeout signal.Time) string { return limit((timeout+after).Seconds()*1e3, "ms") }
	steer := s.SteerAtSpan / degree
	mass := 3.9 * (s.Wheelbase / 0.330) * (s.Wheelbase / 0.330)
	return map[string]any{
		"S": s, "Steer": steer, "SteerLow": 1500 - int64(s.SteerSpan/signal.Microsecond), "SteerHigh": 1500 + int64(s.SteerSpan/signal.Microsecond),
		"Mass": mass, "Inertia": mass * s.Wheelbase * s.Wheelbase * 0.175,
		"WheelInertia": 0.0003 * (s.WheelRadius / 0.054) * (s.WheelRadius / 0.054),
		"Torque":       2 * mass / 3.9 * s.WheelRadius / 0.054, "NoLoad": 15 / s.WheelRadius,
		"Degrees":    func(x float64) string { return fmt.Sprintf("%.6f deg", x/degree) },
		"Rate":       func(x float64) string { return fmt.Sprintf("%.6f deg/s", x/degree) },
		"Share":      func(x float64) string { return fmt.Sprintf("%.6f %%", x*100) },
		"Motors":     motors,
		"LoopRate":   1 / s.LoopPeriod.Seconds() / inside,
		"Response":   limit((s.LoopPeriod+s.OutputPeriod+s.MotorFull).Seconds()*1e3, "ms"),
		"Standstill": s.Standstill / inside,
		"Throttle":   within(s.ThrottleTimeout), "SteerLost": within(s.SteerTimeout),
		"YawLost": within(s.YawTimeout), "YawFrozen": within(s.YawFrozen + frame), "EncoderLost": within(s.EncoderTimeout + 2*signal.Millisecond),
		"DeadShift": l.coin(),
	}
}

func limit(x float64, unit string) string { return fmt.Sprintf("%.3f %s", x*inside, unit) }

func motors(places []board.Place) string {
	words := make([]string, len(places))
	for i, p := range places {
		words[i] = string(p)
	}
	return "[" + strings.Join(words, ", ") + "]"
}

func source(name, text string, data map[string]any) language.Source {
	functions := template.FuncMap{}
	for key, x := range data {
		switch x.(type) {
		case func(float64) string, func([]board.Place) string:
			functions[strings.ToLower(key)] = x
			delete(data, key)
		}
	}
	var out strings.Builder
	if err := template.Must(template.New(name).Funcs(functions).Parse(text)).Execute(&out, data); err != nil {
		panic(err)
	}
	return language.Source{Path: name + ".yaml", Data: []byte(out.String())}
}

const carTemplate = `
car: drawn
about: Drawn at random.
mass: {{.Mass}} kg
wheelbase: {{.S.Wheelbase}} m
track: {{.S.Wheelbase}} m
wheel_radius: {{.S.WheelRadius}} m
weight_front: 55 %
yaw_inertia: {{.Inertia}} kg m2
cg_height: 65 mm
wheel_inertia: {{.WheelInertia}} kg m2
steering:
  - {pulse: {{.SteerLow}} us, left: -{{.Steer}} deg, right: -{{.Steer}} deg}
  - {pulse: {{.SteerHigh}} us, left: {{.Steer}} deg, right: {{.Steer}} deg}
tyre:
  longitudinal: {b: 5, c: 1.6, e: 0, mu: 0.65}
  lateral: {b: 4, c: 1.6, e: 0, mu: 0.6}
  load_sensitivity: 0.35
motor: {stall_torque: {{.Torque}} N m, no_load_speed: {{.NoLoad}} rad/s, drag_brake: 5 %, torque_lag: 4 ms}
servo: {rate: 300 deg/s, lag: 10 ms}
policy:
  demand: {model: single_track, wheelbase: {{.S.Wheelbase}} m, understeer_gradient: {{.S.UndersteerGradient}} rad/(m/s2), within: 5 %}
  turn_from: {{.S.TurnFrom}}
  opposite_lock: {{.S.OppositeLock}}
  understeer: {raise: {{motors .S.Understeer.Raise}}, lower: {{motors .S.Understeer.Lower}}}
  oversteer: {raise: {{motors .S.Oversteer.Raise}}, lower: {{motors .S.Oversteer.Lower}}}
  shift_at: {error: {{rate .S.ShiftError}}, gain: 50 %, is: {{share .S.ShiftIs}}, within: 10 %}
{{if .DeadShift}}  dead_shift: 1 %
{{end}}  dead_band: {{rate .S.DeadBand}}
  sum: kept
  cap: {of: {{share .S.Cap}}, steer_above: {{degrees .S.CapAbove}}}
  floor: {{share .S.Floor}}
  at_the_limit: {{.S.AtTheLimit}}
  standstill: {no_shift_below: {{.Standstill}} m/s}
  reverse: no_shift
  loop_rate: {at_least: {{.LoopRate}} Hz}
  response: {at_most: {{.Response}}, of: 95 %}
  throttle_lost: {idle_within: {{.Throttle}}}
  steer_lost: {no_shift_within: {{.SteerLost}}}
  yaw_lost: {no_shift_within: {{.YawLost}}}
  yaw_frozen: {no_shift_within: {{.YawFrozen}}}
  bad_checksum: ignored
  spike: {at_most: 5 %}
  encoder_lost: {no_shift_within: {{.EncoderLost}}}
  recovers: {{.S.Recovers}}
  safe_state: {{.S.SafeState}}
  start: {{.S.StartState}}
  outputs_together: 500 us
  motors_equal_within: 1 %
  resolution: 0.5 %
`

const benchTemplate = `
bench: drawn
encoders: {kind: quadrature, lines: {{.Lines}}}
receiver:
  steer: {rate: {{.Receiver}} Hz}
  throttle: {rate: {{.Receiver}} Hz, idle: 1000 us, full: 2000 us}
  gain: {rate: {{.Receiver}} Hz, idle: 1000 us, full: 2000 us}
serial:
  - port: yaw_serial
    baud: {{.Baud}} Bd
    frames:
      - rate: {{.Frames}} Hz
        fields:
          - {bytes: [0xA5, 0x5A]}
          - {sequence: u8}
          - {channel: yaw_rate, as: i16, order: big, scale: 0.0625 deg/s, noise: 0.15 deg/s, range: [-2000 deg/s, 2000 deg/s]}
          - {check: crc8, poly: 0x07, init: 0, from: 2}
motors: {kind: servo_pulse, idle: {{.MotorIdle}} us, full: {{.MotorFull}} us, with_neutral: no}
board:
  reset: line
  ready_after: 1 s
  between_cases: {throttle: 0 %, steer: 0 deg, yaw_rate: 0 deg/s, for: 1 s}
`
