package file_test

import (
	"errors"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/assertions"
	"hilrig/assertions/law"
	"hilrig/plant"
	"hilrig/rig/interlock"
	"hilrig/rig/signal"
	"hilrig/rig/trace"
	"hilrig/stimulus"
	"hilrig/suites/file"
	"hilrig/suites/language"
)

const ms = signal.Millisecond

// last returns the last step of the suite's case i.
func last(s *file.Suite, i int) file.Step { return s.Cases[i].Steps[len(s.Cases[i].Steps)-1] }

func TestShapesStandForValues(t *testing.T) {
	tests := []struct {
		name  string
		text  string
		want  stimulus.Shape
		begin float64
	}{
		{"ramp", "{ramp: [0 deg, 8 deg], over: 200 ms}", stimulus.Ramp{To: rad(8), Over: 200 * ms}, 0},
		{"ramp down", "{ramp: [8 deg, 0 deg], over: 200 ms}", stimulus.Ramp{From: rad(8), Over: 200 * ms}, rad(8)},
		{"step", "{step: [1 deg, 8 deg], after: 100 ms}", stimulus.Step{Before: rad(1), After: rad(8), When: 100 * ms}, rad(1)},
		{"sine", "{sine: 5 deg, at: 1 Hz, about: 2 deg, cycles: 3}", stimulus.Sine{Amplitude: rad(5), About: rad(2), Frequency: 1, Cycles: 3}, rad(2)},
		{"endless sine about zero", "{sine: -5 deg, at: 1 Hz}", stimulus.Sine{Amplitude: rad(-5), Frequency: 1}, 0},
		{"chirp", "{chirp: 3 deg, from: 0.5 Hz, to: 4 Hz, over: 5 s}", stimulus.Chirp{Amplitude: rad(3), From: 0.5, To: 4, Over: 5 * signal.Second}, 0},
		{"sine with dwell", "{sine_with_dwell: 6 deg, at: 1.98 Hz, dwell: 177 ms}", stimulus.SineWithDwell{Amplitude: rad(6), Frequency: 1.98, Dwell: 177 * ms}, 0},
		{"table", "{table: [[0 s, 3 deg], [1 s, 5 deg]]}", stimulus.Table{Times: []signal.Time{0, signal.Second}, Values: []float64{rad(3), rad(5)}}, rad(3)},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			s := suite(t, "  - {case: a, hold: {steer: "+tt.text+", yaw_rate: 10 deg/s}, expect: [{sum: kept}]}\n")
			require.Len(t, s.Cases[0].Steps, 2)
			base, hold := s.Cases[0].Steps[0], s.Cases[0].Steps[1]
			assert.Empty(t, base.Shapes, "a baseline is held")
			assert.Equal(t, tt.begin, base.Values.Steer)
			assert.Equal(t, tt.begin, hold.Values.Steer, "the value is the one that the shape begins with")
			assert.Equal(t, []file.Moving{{Channel: trace.Steer, Shape: tt.want}}, hold.Shapes)
		})
	}
}

func TestShapesOfADemandAreWorkedOut(t *testing.T) {
	s := suite(t, `
  - case: a
    steer: 8 deg
    hold: {yaw_rate: {ramp: [100 % of demand, 20 deg/s], over: 1 s}}
    expect: [{policy: understeer}]
`)
	demand := 4 * 8 / (0.33 + 0.0028*16) * deg // by hand: V delta / (L + K V^2)
	ramp := last(s, 0).Shapes[0].Shape.(stimulus.Ramp)
	assert.InEpsilon(t, demand, ramp.From, 1e-12)
	assert.InEpsilon(t, 20*deg, ramp.To, 1e-12)
	assert.Equal(t, ramp.From, last(s, 0).Values.YawRate)
}

func TestEveryPlayedValueTakesAShape(t *testing.T) {
	s := suite(t, `
  - case: a
    closed: yes
    throttle: {ramp: [0 %, 50 %], over: 1 s}
    hold:
      speed: {ramp: [0 km/h, 18 km/h], over: 1 s}
      gain: {sine: 40 %, at: 2 Hz, about: 50 %}
      steer: {step: [0 deg, 5 deg], after: 0 ms}
      yaw_rate: {ramp: [0 % of demand, 0 deg/s], over: 1 s}
      wheels: {rear_left: {ramp: [0 rad/s, 3 rad/s], over: 1 s}, rear_right: 2 rad/s}
    expect: [{motor: all, range: [0 %, 92 %]}]
`)
	hold := last(s, 0)
	var channels []trace.Channel
	for _, m := range hold.Shapes {
		channels = append(channels, m.Channel)
	}
	assert.ElementsMatch(t, []trace.Channel{trace.Speed, trace.Throttle, trace.Gain, trace.Steer, trace.YawRate, trace.WheelRearLeft}, channels)
	assert.Equal(t, 0.5, hold.Values.Gain)
	assert.Equal(t, 0.0, *hold.Wheels[plant.RearLeft])
	assert.Equal(t, 2.0, *hold.Wheels[plant.RearRight])
	assert.Equal(t, interlock.SignalsOnly, s.Cases[0].UpTo, "the throttle goes above 20 %")
}

func TestSweepsAndTrials(t *testing.T) {
	s := suite(t, `
  - case: sweep
    hold: {steer: 8 deg, sweep: {yaw_rate: [50 % of demand, 150 % of demand]}, observe: 8 s}
    expect: [{policy: demand}]
  - case: trials
    each: {turn: [left, right]}
    hold: {steer: 8 deg, trials: {yaw_rate: [100 % of demand, 70 % of demand], count: 20, interval: 40 ms}}
    expect: [{policy: response}]
  - case: as they are
    hold: {yaw_rate: 0 deg/s, trials: {steer: [0 deg, 8 deg]}}
    expect: [{policy: response}]
  - case: throttle
    hold: {trials: {throttle: [10 %, 15 %]}}
    expect: [{policy: response}]
`)
	demand := 4 * 8 / (0.33 + 0.0028*16) * deg
	sweep := last(s, 0)
	require.NotNil(t, sweep.Sweep)
	assert.Equal(t, trace.YawRate, sweep.Sweep.Channel)
	assert.InEpsilon(t, 0.5*demand, sweep.Sweep.From, 1e-12)
	assert.InEpsilon(t, 1.5*demand, sweep.Sweep.To, 1e-12)
	assert.Equal(t, sweep.Sweep.From, sweep.Values.YawRate, "it settles where the sweep begins")
	assert.InEpsilon(t, demand, s.Cases[0].Steps[0].Values.YawRate, 1e-12, "the baseline is on demand")

	left, right := last(s, 1), last(s, 2)
	require.NotNil(t, left.Trials)
	assert.Equal(t, 20, left.Trials.Count)
	assert.Equal(t, 40*ms, left.Trials.Interval)
	assert.InEpsilon(t, demand, left.Trials.Levels[0], 1e-12)
	assert.InEpsilon(t, 0.7*demand, left.Trials.Levels[1], 1e-12)
	assert.Equal(t, left.Trials.Levels[0], left.Values.YawRate)
	assert.Equal(t, [2]float64{-left.Trials.Levels[0], -left.Trials.Levels[1]}, right.Trials.Levels)

	steer := last(s, 3)
	assert.Equal(t, &file.Trials{Channel: trace.Steer, Levels: [2]float64{0, rad(8)}, Count: 200, Interval: 60 * ms}, steer.Trials)
	assert.Equal(t, interlock.WheelsOffGround, s.Cases[4].UpTo)
	assert.Equal(t, 0.1, s.Cases[4].Steps[0].Values.Throttle, "the baseline holds the first level")
}

func TestFaultsAndBumps(t *testing.T) {
	s := suite(t, `
  - case: a
    each: {turn: [left, right]}
    closed: yes
    compare: yes
    repeat: 5
    power_up: yes
    throttle: 10 %
    hold:
      faults:
        - {wire: yaw_serial, is: lost}
        - {wire: rear_left, is: stuck, after: 100 ms, for: 200 ms}
        - {wire: yaw_serial, is: spike, by: 400 deg/s}
        - {wire: throttle, is: spike, by: 30 %, frames: 2}
        - {wire: yaw_serial, is: wrong_checksum, every: 3}
        - {wire: steer, is: delayed, by: 20 ms}
        - {wire: steer, is: noisy, by: 1 deg}
        - {wire: steer, is: reversed}
        - {wire: front_left, is: swapped, with: rear_right}
        - {wire: front_left_a, is: lost}
      bumps: [{wheel: front_left, load: 0 %, after: 200 ms, for: 60 ms}, {wheel: rear_right, load: 50 %, for: 60 ms}]
    expect: [{policy: yaw_lost}]
`)
	want := []stimulus.Fault{
		{Kind: stimulus.Lost, Wire: "yaw_serial"},
		{Kind: stimulus.Stuck, Wire: "rear_left", From: 100 * ms, To: 300 * ms},
		{Kind: stimulus.Spike, Wire: "yaw_serial", By: rad(400), Frames: 1},
		{Kind: stimulus.Spike, Wire: "throttle", By: 0.3, Frames: 2},
		{Kind: stimulus.WrongChecksum, Wire: "yaw_serial", Every: 3},
		{Kind: stimulus.Delayed, Wire: "steer", By: 0.02},
		{Kind: stimulus.Noisy, Wire: "steer", By: rad(1)},
		{Kind: stimulus.Reversed, Wire: "steer"},
		{Kind: stimulus.Swapped, Wire: "front_left", With: "rear_right"},
		{Kind: stimulus.Lost, Wire: "front_left_a"},
	}
	assert.Equal(t, want, last(s, 0).Faults)
	assert.Equal(t, []stimulus.Bump{{Wheel: 0, From: 200 * ms, To: 260 * ms}, {Wheel: 3, To: 60 * ms, Load: 0.5}}, last(s, 0).Bumps)
	for i, wire := range map[int]string{1: "rear_right", 8: "front_right", 9: "front_right_a"} {
		want[i].Wire = wire
	}
	want[8].With = "rear_left"
	want[2].By, want[6].By = -want[2].By, -want[6].By
	assert.Equal(t, want, last(s, 1).Faults, "the mirror image")
	assert.Equal(t, []stimulus.Bump{{Wheel: 1, From: 200 * ms, To: 260 * ms}, {Wheel: 2, To: 60 * ms, Load: 0.5}}, last(s, 1).Bumps)
	assert.Empty(t, s.Cases[0].Steps[0].Faults, "the baseline is whole")
	c := s.Cases[0]
	assert.True(t, c.Closed && c.Compare && c.PowerUp)
	assert.Equal(t, 5, c.Repeat)
	assert.Equal(t, interlock.SignalsOnly, c.UpTo, "a loss")
}

func TestMirrorImagesOfShapes(t *testing.T) {
	s := suite(t, `
  - case: a
    each: {turn: [left, right]}
    hold:
      steer: {table: [[0 s, 0 deg], [1 s, 5 deg]]}
      yaw_rate: {sine: 10 deg/s, at: 1 Hz, about: 5 deg/s}
      wheels: {rear_left: {ramp: [1 rad/s, 3 rad/s], over: 1 s}}
    expect: [{sum: kept}]
`)
	l, r := last(s, 0), last(s, 1)
	for _, x := range []struct{ l, r trace.Channel }{{trace.Steer, trace.Steer}, {trace.YawRate, trace.YawRate}} {
		for at := signal.Time(0); at < signal.Second; at += 50 * ms {
			assert.Equal(t, -of(l, x.l).At(at), of(r, x.r).At(at))
		}
	}
	assert.False(t, math.Signbit(of(r, trace.Steer).At(0)), "no negative zero")
	assert.Equal(t, of(l, trace.WheelRearLeft), of(r, trace.WheelRearRight))
	assert.Nil(t, r.Wheels[plant.RearLeft])
}

// of returns the shape of a channel in a step.
func of(s file.Step, c trace.Channel) stimulus.Shape {
	for _, m := range s.Shapes {
		if m.Channel == c {
			return m.Shape
		}
	}
	return stimulus.Hold(math.NaN())
}

func TestNewExpectations(t *testing.T) {
	s := suite(t, `
  - case: a
    steps: [{step: a}, {step: b, gain: 60 %}, {step: c, gain: 70 %}]
    expect:
      - {motor: [outside_rear], proportional: [a, b, c], within: 5 %}
      - {motor: all, monotone: falling, over: [a, c]}
      - {motor: front_left, no_jump: 20 %, step: b}
`)
	x := s.Cases[0].Expect
	assert.Equal(t, assertions.Proportional{Motors: []law.Corner{"outside_rear"}, Steps: []string{"a", "b", "c"}, Within: 0.05}, x[0].Check)
	assert.Equal(t, assertions.Monotone{Motors: law.Corners[:4], Steps: []string{"a", "c"}}, x[1].Check)
	assert.Equal(t, assertions.NoJump{Motors: []law.Corner{"front_left"}, Most: 0.2, Step: "b"}, x[2].Check)
}

func TestMeasuresOfADrive(t *testing.T) {
	s := suite(t, `
  - case: a
    closed: yes
    compare: yes
    hold: {}
    expect:
      - {measure: rms_yaw_error, at_most: 15 deg/s}
      - {measure: rms_yaw_error, better_than: off, by: 5 %}
      - {measure: overshoot, at_least: 1 %, at_most: 20 %}
      - {measure: settling_time, at_most: 400 ms}
      - {measure: response_time, at_most: 100 ms}
      - {measure: peak_body_slip, at_most: 9 deg}
      - {measure: path_error, better_than: no_board, at_most: 30 cm, step: hold}
`)
	p := func(x float64) *float64 { return &x }
	var got []assertions.Check
	for _, x := range s.Cases[0].Expect {
		got = append(got, x.Check)
	}
	assert.Equal(t, []assertions.Check{
		assertions.Measured{Measure: "rms_yaw_error", AtMost: p(rad(15))},
		assertions.Measured{Measure: "rms_yaw_error", BetterThan: "off", By: 0.05},
		assertions.Measured{Measure: "overshoot", AtLeast: p(0.01), AtMost: p(0.2)},
		assertions.Measured{Measure: "settling_time", AtMost: p(0.4)},
		assertions.Measured{Measure: "response_time", AtMost: p(0.1)},
		assertions.Measured{Measure: "peak_body_slip", AtMost: p(rad(9))},
		assertions.Measured{Measure: "path_error", BetterThan: "no_board", AtMost: p(0.3), Step: "hold"},
	}, got)
}

func TestArming(t *testing.T) {
	_, b := changed(t, "  reset: line", "  reset: line\n  arm: [{throttle: 100 %, for: 1 s}, {steer: 5 deg, gain: 10 %, for: 500 ms}]")
	assert.Equal(t, []file.Held{{Values: stimulus.Values{Throttle: 1}, For: signal.Second}, {Values: stimulus.Values{Steer: rad(5), Gain: 0.1}, For: 500 * ms}}, b.Board.Arm)
	_, b = changed(t, "with_neutral: no", "rate: 400 Hz")
	assert.Equal(t, 400.0, b.MotorRate)
}

const gravel = `# invented
time [s], speed [km/h],steer [deg],yaw_rate [deg/s],throttle [%],wheel_speed.front_left [rad/s],note
10,7.2,0,0,10,30,start
10.01,14.4,1,2.5,20,31,
10.02,18,-2,-5,30,32,
`

// replaying reads a suite of one case that replays log.
func replaying(t *testing.T, log string, more string) (*file.Suite, error) {
	t.Helper()
	car, bench := bramble(t)
	data := "suite: s\ndefaults: {gain: 50 %}\ncases:\n  - {case: a, replay: logs/gravel.csv, " + more + "expect: [{motor: all, range: [0 %, 92 %]}]}\n"
	return file.ParseSuiteWith(language.Source{Path: "mine/s.yaml", Data: []byte(data)}, file.SuiteOptions{Car: car, Bench: bench, Read: func(path string) ([]byte, error) {
		if path != "mine/logs/gravel.csv" {
			return nil, errors.New("no such file: " + path)
		}
		return []byte(log), nil
	}})
}

func TestDriveLogsAreReplayed(t *testing.T) {
	s, err := replaying(t, gravel, "each: {turn: [left, right]}, ")
	require.NoError(t, err)
	require.Len(t, s.Cases, 2)
	require.Len(t, s.Cases[0].Steps, 2)
	base, log := s.Cases[0].Steps[0], s.Cases[0].Steps[1]
	assert.True(t, base.Baseline)
	assert.Equal(t, signal.Second, base.Settle+base.Observe)
	assert.Equal(t, stimulus.Values{Speed: 2, Throttle: 0.1, Gain: 0.5}, base.Values)
	assert.Equal(t, 30.0, *base.Wheels[plant.FrontLeft])
	assert.Equal(t, "replay", log.Name)
	assert.Zero(t, log.Settle)
	assert.Equal(t, 20*ms, log.Observe)
	times := []signal.Time{0, 10 * ms, 20 * ms}
	assert.Equal(t, stimulus.Table{Times: times, Values: []float64{2, 4, 5}}, of(log, trace.Speed))
	assert.Equal(t, stimulus.Table{Times: times, Values: []float64{0, rad(1), rad(-2)}}, of(log, trace.Steer))
	assert.Equal(t, stimulus.Table{Times: times, Values: []float64{0, rad(2.5), rad(-5)}}, of(log, trace.YawRate))
	assert.Equal(t, stimulus.Table{Times: times, Values: []float64{0.1, 0.2, 0.3}}, of(log, trace.Throttle))
	assert.Equal(t, stimulus.Table{Times: times, Values: []float64{30, 31, 32}}, of(log, trace.WheelFrontLeft))
	right := s.Cases[1].Steps[1]
	assert.Equal(t, stimulus.Table{Times: times, Values: []float64{0, rad(-2.5), rad(5)}}, of(right, trace.YawRate))
	assert.Equal(t, of(log, trace.WheelFrontLeft), of(right, trace.WheelFrontRight))
	assert.Equal(t, of(log, trace.Speed), of(right, trace.Speed))
	require.Len(t, s.Logs, 1)
	assert.Equal(t, "mine/logs/gravel.csv", s.Logs[0].Path)

	s, err = replaying(t, gravel, "baseline: none, ")
	require.NoError(t, err)
	assert.Len(t, s.Cases[0].Steps, 1)
	s, err = replaying(t, gravel, "baseline: {observe: 2 s}, ")
	require.NoError(t, err)
	assert.Equal(t, 2*signal.Second, s.Cases[0].Steps[0].Observe)
}
