package suites

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/plant/portable"
	"hilrig/rig/signal"
	"hilrig/rig/trace"
	"hilrig/stimulus"
	"hilrig/suites/file"
)

const ms = signal.Millisecond

// twoSteps is a case with a baseline and a hold.
func twoSteps() *file.Case {
	base := stimulus.Values{Speed: 8, Steer: 0.1, Throttle: 0.4, Gain: 0.5, YawRate: 2}
	hold := base
	hold.YawRate = 1.4
	return &file.Case{Steps: []file.Step{
		{Name: "baseline", Baseline: true, Settle: 300 * ms, Observe: 400 * ms, Values: base, Demand: 2},
		{Name: "hold", Settle: 300 * ms, Observe: 400 * ms, Values: hold, Demand: 2},
	}}
}

func noise() portable.Noise { return portable.NewNoise(1, "test") }

func TestProgramRollsInThenSteps(t *testing.T) {
	p, steps := programOf(twoSteps(), stimulus.Values{}, noise(), 5*ms, nil)
	require.Len(t, steps, 2)
	assert.Equal(t, 1400*ms+tail, p.Length)
	assert.Equal(t, []signal.Time{0, 300 * ms, 700 * ms}, []signal.Time{steps[0].Applied, steps[0].From, steps[0].To})
	assert.Equal(t, []signal.Time{700 * ms, 1000 * ms, 1400 * ms}, []signal.Time{steps[1].Applied, steps[1].From, steps[1].To})
	assert.InDelta(t, 4, p.Values(50*ms).Speed, 1e-9, "half way in from the rest")
	assert.InDelta(t, 8, p.Values(100*ms).Speed, 1e-9)
	assert.InDelta(t, 2, p.Values(700*ms-1).YawRate, 1e-9)
	assert.InDelta(t, 1.4, p.Values(700*ms).YawRate, 1e-9, "the error comes at once")
}

func TestTrialsAreSpreadEvenlyAndAlternate(t *testing.T) {
	c := twoSteps()
	c.Steps[1].Trials = &file.Trials{Channel: trace.YawRate, Levels: [2]float64{2, 1.4}, Count: 400, Interval: 60 * ms}
	c.Steps[1].Values.YawRate = 2
	p, steps := programOf(c, stimulus.Values{}, noise(), 5*ms, nil)
	s := steps[1]
	require.Len(t, s.Changes, 400)
	require.Len(t, p.Moves, 400)
	buckets := [5]int{}
	for i, at := range s.Changes {
		assert.InDelta(t, s.Levels[(i+1)%2], p.Values(at).YawRate, 1e-12)
		assert.InDelta(t, s.Levels[i%2], p.Values(at-1).YawRate, 1e-12)
		if i > 0 {
			gap := at - s.Changes[i-1]
			require.GreaterOrEqual(t, gap, 60*ms)
			require.Less(t, gap, 60*ms+file.TrialSpread(0))
			buckets[(gap-60*ms)*5/file.TrialSpread(0)]++
		}
		assert.Less(t, p.Moves[i].By, 5*ms)
		assert.Less(t, p.Moves[i].At, at)
	}
	for i, n := range buckets { // 80 each; five standard deviations are 40
		assert.InDelta(t, 80, n, 40, "fifth %d of the spread", i)
	}
	assert.Greater(t, s.To, s.Changes[399])
	assert.Greater(t, p.Length, s.To)
}

// Each change finds the frame grids moved by a part of a frame that is drawn evenly.
func TestTrialsMeetTheFramesAtEveryPhase(t *testing.T) {
	const grid = 5 * ms
	c := twoSteps()
	c.Steps[1].Trials = &file.Trials{Channel: trace.YawRate, Levels: [2]float64{2, 1.4}, Count: 400, Interval: 60 * ms}
	p, steps := programOf(c, stimulus.Values{}, noise(), grid, nil)
	require.Len(t, p.Moves, 400)
	fifths := [5]int{}
	before := steps[1].From
	for i, m := range p.Moves {
		assert.Greater(t, m.At, before, "between two changes")
		assert.Less(t, m.At, steps[1].Changes[i])
		require.GreaterOrEqual(t, m.By, signal.Time(0))
		require.Less(t, m.By, grid)
		fifths[m.By*5/grid]++
		before = steps[1].Changes[i]
	}
	for i, n := range fifths { // 80 each; five standard deviations are 40
		assert.InDelta(t, 80, n, 40, "fifth %d of a frame", i)
	}
}

// With a slow sensor the moments of trials are spread over two of its frames, evenly.
func TestTrialsAreSpreadOverTwoFramesOfASlowSensor(t *testing.T) {
	const grid = 100 * ms
	c := twoSteps()
	c.Steps[1].Trials = &file.Trials{Channel: trace.YawRate, Levels: [2]float64{2, 1.4}, Count: 400, Interval: 60 * ms}
	_, steps := programOf(c, stimulus.Values{}, noise(), grid, nil)
	fifths := [5]int{}
	for i, at := range steps[1].Changes[1:] {
		extra := at - steps[1].Changes[i] - 60*ms
		require.GreaterOrEqual(t, extra, signal.Time(0))
		require.Less(t, extra, 2*grid)
		fifths[extra*5/(2*grid)]++
	}
	for i, n := range fifths {
		assert.InDelta(t, 80, n, 40, "fifth %d of two frames", i)
	}
}

func TestSweepGoesThereAndBack(t *testing.T) {
	c := twoSteps()
	c.Steps[1].Sweep = &file.Sweep{Channel: trace.YawRate, From: 1, To: 3}
	p, steps := programOf(c, stimulus.Values{}, noise(), 5*ms, nil)
	s := steps[1]
	assert.True(t, s.Swept)
	assert.InDelta(t, 1, p.Values(s.Applied).YawRate, 1e-9)
	assert.InDelta(t, 1, p.Values(s.From).YawRate, 1e-9)
	assert.InDelta(t, 3, p.Values(s.From+200*ms).YawRate, 1e-9)
	assert.InDelta(t, 2, p.Values(s.From+300*ms).YawRate, 1e-9)
}

func TestFaultsAndBumpsAreCountedFromTheirStep(t *testing.T) {
	c := twoSteps()
	c.Steps[1].Faults = []stimulus.Fault{
		{Kind: stimulus.Lost, Wire: "steer"},
		{Kind: stimulus.Noisy, Wire: "gain", From: 100 * ms, To: 200 * ms},
	}
	c.Steps[1].Bumps = []stimulus.Bump{{Wheel: 2, From: 10 * ms, To: 40 * ms}}
	p, steps := programOf(c, stimulus.Values{}, noise(), 5*ms, nil)
	require.Len(t, p.Faults, 2)
	assert.Equal(t, []signal.Time{700 * ms, 1400 * ms}, []signal.Time{p.Faults[0].From, p.Faults[0].To}, "to its step's end")
	assert.Equal(t, []signal.Time{800 * ms, 900 * ms}, []signal.Time{p.Faults[1].From, p.Faults[1].To})
	assert.Equal(t, 710*ms, p.Bumps[0].From)
	place(steps, signal.Second)
	assert.Equal(t, 1700*ms, steps[1].Faults[0].From)
	assert.Equal(t, 700*ms, p.Faults[0].From, "the program keeps its own times")
}

func TestWheelOverrideHoldsInItsStepOnly(t *testing.T) {
	c := twoSteps()
	rate := 5.0
	c.Steps[1].Wheels[3] = &rate
	c.Steps = append(c.Steps, c.Steps[0])
	p, _ := programOf(c, stimulus.Values{}, noise(), 5*ms, nil)
	require.NotNil(t, p.Wheels[3])
	before, in, after := p.Wheels[3].At(699*ms), p.Wheels[3].At(700*ms), p.Wheels[3].At(1400*ms)
	assert.True(t, before != before, "NaN: the hub rule holds")
	assert.Equal(t, 5.0, in)
	assert.True(t, after != after)
}

// A wheel slips from its step on, and no longer than that.
func TestSlipLastsAsLongAsItsStep(t *testing.T) {
	c := twoSteps()
	c.Steps = append(c.Steps, c.Steps[1])
	c.Steps[1].Slip = [4]float64{0, 0, 0.25, -0.5}
	p, steps := programOf(c, stimulus.Values{}, noise(), 5*ms, nil)
	assert.Nil(t, p.Slip[0])
	for w, want := range map[int]float64{2: 0.25, 3: -0.5} {
		assert.Zero(t, p.Slip[w].At(0))
		assert.Zero(t, p.Slip[w].At(steps[1].Applied-1))
		assert.Equal(t, want, p.Slip[w].At(steps[1].Applied))
		assert.Equal(t, want, p.Slip[w].At(steps[2].Applied-1))
		assert.Zero(t, p.Slip[w].At(steps[2].Applied))
	}
	assert.Equal(t, c.Steps[1].Slip, steps[1].Slip, "as checks see it")
}

func TestClosedCaseReleasesTheCarAfterItsFirstSettle(t *testing.T) {
	c := twoSteps()
	c.Closed = true
	p, _ := programOf(c, stimulus.Values{}, noise(), 5*ms, nil)
	assert.True(t, p.Closed)
	assert.Equal(t, 300*ms, p.Release)
}

// On the way in nothing asks for a shift: yaw rate, steering and speed fit each other all along,
// and only at its end the yaw error of the first step comes.
func TestRollInAsksForNoShift(t *testing.T) {
	demand := func(speed, steer float64) float64 { return speed * steer / (0.33 + 0.0028*speed*speed) }
	c := twoSteps()
	c.Steps = c.Steps[1:]
	rest := stimulus.Values{Speed: 1, Steer: -0.05, YawRate: demand(1, -0.05)}
	c.Steps[0].Slip = [4]float64{0.25, 0.25}
	p, _ := programOf(c, rest, noise(), 5*ms, func(speed, steer float64, slip *[4]float64) float64 {
		assert.Equal(t, c.Steps[0].Slip, *slip)
		return demand(speed, steer)
	})
	most := 0.0
	for at := signal.Time(0); at < rollIn; at += ms {
		v := p.Values(at)
		most = max(most, math.Abs(v.YawRate-demand(v.Speed, v.Steer)))
	}
	assert.Less(t, most, 0.02, "rad/s between the parts, each straight")
	assert.InDelta(t, -0.05, p.Values(0).Steer, 1e-9)
	assert.InDelta(t, 0.1, p.Values(rollIn).Steer, 1e-9)
	assert.InDelta(t, 1.4, p.Values(rollIn).YawRate, 1e-9)
}
