package assertions_test

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/assertions"
	"hilrig/rig/signal"
	"hilrig/rig/trace"
)

// driven is a drive with a step of the steering after 500 ms, whose yaw rate
// follows what is demanded of it as a second-order lag does.
type driven struct {
	steer   float64 // rad, after the step; 0: 8 deg
	speed   float64 // m/s; 0: 4
	natural float64 // rad/s of the lag; 0: 20
	damping float64 // 0: 1
	gain    float64 // yaw rate over the demanded one; 0: 1
	slip    float64 // rad of body slip per rad/s of yaw rate
	length  signal.Time
	change  func(row int, column *[trace.Channels]float64)
}

const stepAt = 500 // row

func or(x, otherwise float64) float64 {
	if x == 0 {
		return otherwise
	}
	return x
}

func (d driven) play() *assertions.Evidence {
	steer, speed, natural := or(d.steer, 8*deg), or(d.speed, 4), or(d.natural, 20)
	length := d.length
	if length == 0 {
		length = 2500 * signal.Millisecond
	}
	p := policy()
	e := &assertions.Evidence{Trace: &trace.Trace{Tick: signal.Millisecond}, Policy: p, CommandStep: 0.001}
	e.Steps = []assertions.Step{
		{Name: "straight", Baseline: true, From: 100 * signal.Millisecond, To: stepAt * signal.Millisecond, Speed: speed},
		{Name: "turn", Applied: stepAt * signal.Millisecond, From: stepAt * signal.Millisecond, To: length, Speed: speed, Steer: steer},
	}
	e.Release = 50 * signal.Millisecond
	var yaw, rate, heading, x, y float64
	const dt = 1e-3
	for i := range int(length/signal.Millisecond) + 10 {
		var c [trace.Channels]float64
		if i >= stepAt {
			c[trace.Steer] = steer
		}
		c[trace.Speed], c[trace.Throttle], c[trace.Gain], c[trace.YawRate] = speed, 0.4, 0.5, yaw
		c[trace.LateralSpeed] = speed * math.Tan(d.slip*yaw)
		c[trace.Heading], c[trace.PositionX], c[trace.PositionY] = heading, x, y
		if d.change != nil {
			d.change(i, &c)
		}
		for k := range c {
			e.Trace.Column[k] = append(e.Trace.Column[k], c[k])
		}
		// Steps of a tenth of a tick.
		for range 10 {
			rate += dt / 10 * natural * natural * (or(d.gain, 1)*p.Demand.YawRate(speed, c[trace.Steer]) - yaw - 2*or(d.damping, 1)/natural*rate)
			yaw += dt / 10 * rate
			heading += dt / 10 * yaw
			x += dt / 10 * speed * math.Cos(heading)
			y += dt / 10 * speed * math.Sin(heading)
		}
		for w := range e.Trace.Motor {
			at := signal.Time(i) * signal.Millisecond
			e.Trace.Motor[w].Frames = append(e.Trace.Motor[w].Frames, trace.Frame{Start: at, End: at, Value: 0.4})
		}
	}
	return e
}

func judged(c assertions.Measured, e *assertions.Evidence) assertions.Result {
	return assertions.Judge(c, e)[0]
}

// figureOf reads one figure of a drive.
func figureOf(t *testing.T, name string, d driven) float64 {
	t.Helper()
	r := judged(assertions.Measured{Measure: name, AtMost: new(1e9)}, d.play())
	require.Equal(t, assertions.Pass, r.Verdict, "%+v", r)
	require.True(t, r.Measured())
	return r.Must().Estimate
}

func TestFiguresOfADriveThatIsKnown(t *testing.T) {
	demand := policy().Demand.YawRate(4, 8*deg)
	tests := []struct {
		name    string
		measure string
		drive   driven
		want    float64
		within  float64
		source  string
	}{
		{"overshoot", "overshoot", driven{damping: 0.4}, 100 * math.Exp(-math.Pi*0.4/math.Sqrt(1-0.16)), 0.2, "second-order lag, textbook"},
		{"overshoot to the right", "overshoot", driven{damping: 0.4, steer: -8 * deg}, 100 * math.Exp(-math.Pi*0.4/math.Sqrt(1-0.16)), 0.2, "second-order lag, textbook"},
		{"no overshoot", "overshoot", driven{}, 0, 0.1, "critically damped"},
		{"response", "response_time", driven{}, 1000 * 3.88972 / 20, 1, "(1 + x) e^-x = 0.1 at x = 3.88972, computed"},
		{"settling", "settling_time", driven{}, 1000 * 4.74386 / 20, 1, "(1 + x) e^-x = 0.05 at x = 4.74386, computed"},
		{"body slip", "peak_body_slip", driven{slip: 0.1}, 0.1 * demand / deg, 0.05, "as made"},
		{"body slip to the right", "peak_body_slip", driven{slip: -0.1, steer: -8 * deg}, 0.1 * demand / deg, 0.05, "as made"},
		// Critically damped, the error is demand (1 + x) e^-x, x = 20 t: its square integrates to 5/4 demand^2 / 20.
		{"yaw error", "rms_yaw_error", driven{}, demand / deg * math.Sqrt(1.25/20/2), 0.15, "integral, by hand"},
		{"yaw error of a weak turn", "rms_yaw_error", driven{gain: 0.7, natural: 400, length: 12500 * signal.Millisecond}, 0.3 * demand / deg, 0.2, "as made"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			assert.InDelta(t, tt.want, figureOf(t, tt.measure, tt.drive), tt.within, tt.source)
		})
	}
}

// A car that turns at once as demanded drives the demanded path; one that turns
// with less drives a larger circle, and how far apart two circles with a common
// tangent are is known.
func TestPathError(t *testing.T) {
	assert.Less(t, figureOf(t, "path_error", driven{natural: 2000}), 0.02, "late by 1 ms")
	got := figureOf(t, "path_error", driven{natural: 2000, gain: 0.9, length: 1500 * signal.Millisecond})
	demand := policy().Demand.YawRate(4, 8*deg)
	r, wide := 4/demand, 4/(0.9*demand)
	sum, n := 0.0, 0
	for s := 0.0; s < 1; s += 1e-3 {
		at := s * 0.9 * demand
		x, y := wide*math.Sin(at), wide*(1-math.Cos(at))
		away := math.Hypot(x, y-r) - r
		sum, n = sum+away*away, n+1
	}
	assert.InDelta(t, math.Sqrt(sum/float64(n)), got, 0.02)
	// Full turns do not take the car for somewhere else on the path.
	assert.Less(t, figureOf(t, "path_error", driven{natural: 2000, length: 20 * signal.Second}), 0.1)
	assert.InDelta(t, got, figureOf(t, "path_error", driven{natural: 2000, gain: 0.9, steer: -8 * deg, length: 1500 * signal.Millisecond}), 1e-6, "mirrored")
}

func TestFigureAgainstItsBounds(t *testing.T) {
	e := driven{damping: 0.4}.play() // overshoot 25.4 %
	tests := []struct {
		name    string
		check   assertions.Measured
		verdict assertions.Verdict
		called  string
		why     string
	}{
		{"kept", assertions.Measured{AtMost: new(0.3)}, assertions.Pass, "overshoot of the yaw rate at most 30 %", ""},
		{"passed", assertions.Measured{AtMost: new(0.2)}, assertions.Fail, "overshoot of the yaw rate at most 20 %", "is 25.4 ± 0 %, one run; it has to be at most 20 %"},
		{"at least", assertions.Measured{AtLeast: new(0.3)}, assertions.Fail, "overshoot of the yaw rate at least 30 %", "at least 30 %"},
		{"between", assertions.Measured{AtLeast: new(0.2), AtMost: new(0.3)}, assertions.Pass, "overshoot of the yaw rate at least 20 % at most 30 %", ""},
		{"no bound", assertions.Measured{}, assertions.Undecided, "overshoot of the yaw rate", "bounds nothing"},
		{"unknown comparison", assertions.Measured{BetterThan: "last week"}, assertions.Undecided, "overshoot of the yaw rate", "use off or no_board"},
		{"no such step", assertions.Measured{AtMost: new(0.3), Step: "brake"}, assertions.Undecided, "overshoot of the yaw rate at most 30 %", "no step"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			tt.check.Measure = "overshoot"
			r := judged(tt.check, e)
			assert.Equal(t, tt.verdict, r.Verdict, "%+v", r)
			assert.Equal(t, tt.called, r.Name)
			assert.Contains(t, r.Why, tt.why)
		})
	}
	r := judged(assertions.Measured{Measure: "grip", AtMost: new(1.0)}, e)
	assert.Equal(t, assertions.Undecided, r.Verdict)
	assert.Contains(t, r.Why, "rms_yaw_error")
	assert.True(t, slices.IsSorted(assertions.Measures))
	assert.Len(t, assertions.Measures, 6)
}

// spread plays a drive several times, each with a natural frequency a little
// different.
func spread(d driven, n int, seed uint64) *assertions.Evidence {
	random := rand.New(rand.NewPCG(seed, 9))
	var e *assertions.Evidence
	mid := or(d.natural, 20)
	for range n {
		d.natural = mid * (1 + 0.02*random.NormFloat64())
		if p := d.play(); e == nil {
			e = p
		} else {
			e.Repeats = append(e.Repeats, p)
		}
	}
	return e
}

func TestRepeatsGiveAnInterval(t *testing.T) {
	e := spread(driven{}, 5, 1)
	r := judged(assertions.Measured{Measure: "response_time", AtMost: new(0.25)}, e)
	assert.Equal(t, assertions.Pass, r.Verdict)
	assert.Equal(t, "response time of the yaw rate, mean of 5 runs", r.Must().Quantity)
	assert.InDelta(t, 194.5, r.Must().Estimate, 5)
	assert.Greater(t, r.Must().High-r.Must().Low, 1.0)
	r = judged(assertions.Measured{Measure: "response_time", AtMost: new(r.Must().Estimate / 1000)}, e)
	assert.Equal(t, assertions.Undecided, r.Verdict)
	e.Repeats = nil
	r = judged(assertions.Measured{Measure: "response_time", AtMost: new(0.25)}, e)
	assert.Equal(t, "response time of the yaw rate, one run", r.Must().Quantity)
	assert.InDelta(t, 4/math.Sqrt(12), r.Must().High-r.Must().Low, 1e-6, "the resolution of a tick of 1 ms, k = 2 on each side")
}

func TestBetterThan(t *testing.T) {
	pair := func(on, off driven, n int) *assertions.Evidence {
		e, without := spread(on, n, 1), spread(off, n, 2)
		e.Off, e.NoBoard = without, without
		for i, r := range e.Repeats {
			r.Off, r.NoBoard = without.Repeats[i], without.Repeats[i]
		}
		return e
	}
	quick, slow := driven{natural: 25}, driven{natural: 15}
	tests := []struct {
		name    string
		e       *assertions.Evidence
		by      float64
		verdict assertions.Verdict
		why     string
	}{
		{"better", pair(quick, slow, 5), 0, assertions.Pass, ""},
		{"better by enough", pair(quick, slow, 5), 0.15, assertions.Pass, ""},
		{"not by as much", pair(quick, slow, 5), 0.5, assertions.Fail, "less than 50 % does not count"},
		{"worse", pair(slow, quick, 5), 0, assertions.Fail, "no better than off"},
		{"alike", pair(quick, quick, 40), 0, assertions.Fail, "no better than off"},
		{"one run", pair(quick, slow, 1), 0, assertions.Pass, ""},
		{"too near", pair(quick, slow, 5), 0.227, assertions.Undecided, ""},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			r := judged(assertions.Measured{Measure: "rms_yaw_error", BetterThan: "off", By: tt.by}, tt.e)
			assert.Equal(t, tt.verdict, r.Verdict, "%+v", r)
			assert.Contains(t, r.Why, tt.why)
			assert.Equal(t, "%", r.Must().Unit)
			// The error's square falls with the natural frequency.
			if tt.verdict == assertions.Pass {
				assert.InDelta(t, 100*(1-math.Sqrt(15.0/25)), r.Must().Estimate, 2)
			}
		})
	}
	t.Run("on equals off to the bit", func(t *testing.T) {
		e := quick.play()
		e.Off = quick.play()
		r := judged(assertions.Measured{Measure: "rms_yaw_error", BetterThan: "off"}, e)
		assert.Equal(t, assertions.Fail, r.Verdict)
		assert.Contains(t, r.Why, "no better than off")
	})
	t.Run("nothing to be better than", func(t *testing.T) {
		e := driven{}.play()
		e.NoBoard = driven{}.play()
		r := judged(assertions.Measured{Measure: "peak_body_slip", BetterThan: "no_board"}, e)
		assert.Equal(t, assertions.Fail, r.Verdict, "%+v", r)
		assert.Contains(t, r.Why, "without a board already")
	})
	t.Run("not compared", func(t *testing.T) {
		r := judged(assertions.Measured{Measure: "rms_yaw_error", BetterThan: "no_board"}, quick.play())
		assert.Equal(t, assertions.Undecided, r.Verdict)
		assert.Contains(t, r.Why, "compare: yes")
	})
	t.Run("bound and comparison", func(t *testing.T) {
		results := assertions.Judge(assertions.Measured{Measure: "rms_yaw_error", AtMost: new(1.0), BetterThan: "off"}, pair(quick, slow, 3))
		require.Len(t, results, 2)
		assert.Equal(t, assertions.Pass, assertions.Worst(results))
	})
	t.Run("off spins", func(t *testing.T) {
		e := quick.play()
		e.Off = driven{change: spin}.play()
		r := judged(assertions.Measured{Measure: "rms_yaw_error", BetterThan: "off"}, e)
		assert.Equal(t, assertions.Pass, r.Verdict, "%+v", r)
	})
	t.Run("off is not to be measured", func(t *testing.T) {
		e := quick.play()
		e.Off = driven{change: func(i int, c *[trace.Channels]float64) { c[trace.YawRate] = math.NaN() }}.play()
		r := judged(assertions.Measured{Measure: "rms_yaw_error", BetterThan: "off"}, e)
		assert.Equal(t, assertions.Undecided, r.Verdict)
	})
}

// spin turns the car round after a second.
func spin(i int, c *[trace.Channels]float64) {
	if i > 1000 {
		at := min(float64(i-1000)/200, 3)
		c[trace.Speed], c[trace.LateralSpeed], c[trace.YawRate] = 4*math.Cos(at), -4*math.Sin(at), 6
	}
}

func TestDrivesThatGoWrong(t *testing.T) {
	rest := func(throttle float64) func(int, *[trace.Channels]float64) {
		return func(i int, c *[trace.Channels]float64) {
			c[trace.Throttle] = throttle
			if i > 1500 {
				c[trace.Speed], c[trace.LateralSpeed] = 0.1, 0
			}
		}
	}
	tests := []struct {
		name, measure string
		change        func(e *assertions.Evidence)
		drive         driven
		verdict       assertions.Verdict
		why           string
	}{
		{"spun", "rms_yaw_error", nil, driven{change: spin}, assertions.Fail, "the car spun at"},
		{"spun, slip", "peak_body_slip", nil, driven{change: spin}, assertions.Fail, "the car spun at"},
		{"absurd", "rms_yaw_error", nil, driven{change: func(i int, c *[trace.Channels]float64) { c[trace.YawRate] *= 100 }}, assertions.Fail, "the car spun at"},
		{"not a number", "rms_yaw_error", nil, driven{change: func(i int, c *[trace.Channels]float64) {
			if i == 900 {
				c[trace.LateralSpeed] = math.NaN()
			}
		}}, assertions.Undecided, "lateral_speed at 0.9 s is no finite number"},
		{"came to rest", "rms_yaw_error", nil, driven{change: rest(0.4)}, assertions.Fail, "although it is asked to drive"},
		{"braked to rest", "peak_body_slip", nil, driven{change: rest(0)}, assertions.Pass, ""},
		{"braked to rest in a step", "overshoot", nil, driven{change: rest(0)}, assertions.Undecided, "end the window before"},
		{"silent", "rms_yaw_error", func(e *assertions.Evidence) { e.Trace.Motor[2].Frames = nil }, driven{}, assertions.Fail, "sent no command"},
		{"idle", "rms_yaw_error", func(e *assertions.Evidence) {
			for w := range e.Trace.Motor {
				for i := range e.Trace.Motor[w].Frames {
					e.Trace.Motor[w].Frames[i].Value = 0
				}
			}
		}, driven{}, assertions.Fail, "does not drive"},
		{"no demand", "path_error", func(e *assertions.Evidence) { e.Policy.Demand = nil }, driven{}, assertions.NotAsked, "no demand"},
		{"before it was let go", "rms_yaw_error", func(e *assertions.Evidence) { e.Release = signal.Second }, driven{}, assertions.Undecided, "let go"},
		{"open loop", "rms_yaw_error", nil, driven{change: func(i int, c *[trace.Channels]float64) {
			for k := trace.LateralSpeed; k < trace.Channels; k++ {
				c[k] = 0
			}
		}}, assertions.Undecided, "closed: yes"},
		{"no window", "rms_yaw_error", func(e *assertions.Evidence) { e.Steps[1].From = e.Steps[1].To }, driven{}, assertions.Undecided, "observe longer"},
		{"no trace", "rms_yaw_error", func(e *assertions.Evidence) { e.Trace = nil }, driven{}, assertions.Undecided, "observe longer"},
		{"no step of the steering", "overshoot", nil, driven{change: func(i int, c *[trace.Channels]float64) { c[trace.Steer] = 0.1 }}, assertions.Undecided, "steering does not change"},
		{"steering moves on", "overshoot", nil, driven{change: func(i int, c *[trace.Channels]float64) { c[trace.Steer] *= float64(i) / 1000 }}, assertions.Undecided, "hold it"},
		{"no answer", "response_time", nil, driven{gain: 1e-300, change: func(i int, c *[trace.Channels]float64) { c[trace.YawRate] = 0 }}, assertions.Fail, "did not follow"},
		{"never settles", "settling_time", nil, driven{damping: 0.01}, assertions.Fail, "had not settled"},
		{"swings", "overshoot", nil, driven{damping: 0.01}, assertions.Undecided, "has not settled"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			e := tt.drive.play()
			if tt.change != nil {
				tt.change(e)
			}
			r := judged(assertions.Measured{Measure: tt.measure, AtMost: new(1.5)}, e)
			assert.Equal(t, tt.verdict, r.Verdict, "%+v", r)
			assert.Contains(t, r.Why, tt.why)
		})
	}
	t.Run("in a repeat", func(t *testing.T) {
		e := driven{}.play()
		e.Repeats = []*assertions.Evidence{driven{change: spin}.play()}
		r := judged(assertions.Measured{Measure: "rms_yaw_error", AtMost: new(1.5)}, e)
		assert.Equal(t, assertions.Fail, r.Verdict)
		assert.Contains(t, r.Why, "in run 2 of 2")
	})
	t.Run("the window is shorter than the bound", func(t *testing.T) {
		r := judged(assertions.Measured{Measure: "settling_time", AtMost: new(60.0)}, driven{damping: 0.01}.play())
		assert.Equal(t, assertions.Undecided, r.Verdict)
	})
	t.Run("reversing throughout", func(t *testing.T) {
		r := judged(assertions.Measured{Measure: "peak_body_slip", AtMost: new(0.5)}, driven{speed: -2, slip: 0.1}.play())
		assert.Equal(t, assertions.Pass, r.Verdict, "%+v", r)
	})
}

// A late step of the steering within the window is found as well as one at its beginning.
func TestStepLateInTheWindow(t *testing.T) {
	e := driven{damping: 0.5}.play()
	want := judged(assertions.Measured{Measure: "response_time", AtMost: new(1.0)}, e)
	e.Steps[1].Applied, e.Steps[1].From = 200*signal.Millisecond, 250*signal.Millisecond
	for i := 200; i < 300; i++ {
		e.Trace.Column[trace.YawRate][i] = 1 // long before the step
	}
	got := judged(assertions.Measured{Measure: "response_time", AtMost: new(1.0)}, e)
	assert.InDelta(t, want.Must().Estimate, got.Must().Estimate, 0.1)
}
