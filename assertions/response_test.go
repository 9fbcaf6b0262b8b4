package assertions_test

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/assertions"
	"hilrig/assertions/law"
	"hilrig/assertions/measure"
	"hilrig/plant"
	"hilrig/rig/signal"
	"hilrig/rig/trace"
)

// sensing is a board as far as its timers go, with the sensor that it hears:
// the loop takes the newest sensor frame, an output frame the newest command.
type sensing struct {
	loop, output, sensor signal.Time // periods
	loopAt, outputAt     signal.Time // phases
	still                bool        // the sensor's frames keep their grid and the changes theirs
	trials               int         // 0: 200
}

const yawLevels = 0.7 // the second level, share of the first

// play returns what 200 trials of the yaw rate bring.
func (b sensing) play(seed uint64) *assertions.Evidence {
	random := rand.New(rand.NewPCG(seed, 11))
	if b.trials == 0 {
		b.trials = 200
	}
	const interval = 60 * signal.Millisecond
	s := onDemand(1)
	s.Baseline, s.Name = false, "trials"
	s.Changed, s.Levels = trace.YawRate, [2]float64{s.YawRate, yawLevels * s.YawRate}
	s.From = signal.Second
	tr := &trace.Trace{Start: 0, Tick: signal.Millisecond}
	grid, at := s.From-200*signal.Millisecond, s.From
	level := s.Levels[0]
	send := func(until signal.Time) {
		for ; grid < until; grid += b.sensor {
			noise := 0.001 * random.NormFloat64()
			tr.Sent[trace.SentYawRate] = append(tr.Sent[trace.SentYawRate], trace.Sent{Start: grid, End: grid + 520*signal.Microsecond, Value: level + noise})
		}
	}
	for i := range b.trials {
		if b.still {
			at += interval
		} else {
			at += interval + signal.Time(random.Int64N(int64(50*signal.Millisecond)))
		}
		send(at - 20*signal.Millisecond)
		if !b.still {
			grid += signal.Time(random.Int64N(int64(b.sensor)))
		}
		send(at)
		s.Changes = append(s.Changes, at)
		level = s.Levels[(i+1)%2]
	}
	s.To = at + interval
	send(s.To)
	b.answer(tr, &s)
	return &assertions.Evidence{Trace: tr, Policy: respond(12), Steps: []assertions.Step{s}, CommandStep: 0.001}
}

// respond is a policy that asks for a response within so many milliseconds.
func respond(ms float64) *law.Policy {
	p := policy()
	p.Response = &law.Response{AtMost: signal.FromSeconds(ms / 1000), Quantile: 0.95}
	return p
}

// answer appends the motor frames.
func (b sensing) answer(tr *trace.Trace, s *assertions.Step) {
	sent := tr.Sent[trace.SentYawRate]
	heard, p := 0, policy()
	for frame := s.From - 100*signal.Millisecond + b.outputAt; frame < s.To; frame += b.output {
		turn := frame - (frame-b.loopAt)%b.loop // the last turn of the loop before the frame
		for heard+1 < len(sent) && sent[heard+1].End <= turn {
			heard++
		}
		m := good(with(*s, func(s *assertions.Step) { s.YawRate = sent[heard].Value }), p)
		for w, v := range m {
			v = math.Round(v*1000) / 1000
			end := frame + signal.Millisecond + signal.FromSeconds(v*1e-3)
			tr.Motor[w].Frames = append(tr.Motor[w].Frames, trace.Frame{Start: frame, End: end, Value: v})
		}
	}
}

// truth returns the quantile of the response of the slowest motor of the same board, whose
// pulses are the longest.
func (b sensing) truth(p float64) float64 { return b.truthOf(plant.RearRight, p) }

// truthOf returns the quantile of the response of a motor of the same board, worked out from
// all moments at which a change can take effect.
func (b sensing) truthOf(w plant.Wheel, p float64) float64 {
	s := onDemand(1)
	motors := func(share float64) [4]float64 {
		return good(with(s, func(s *assertions.Step) { s.YawRate *= share }), policy())
	}
	last := []float64{motors(yawLevels)[w], motors(1)[w]}
	var took []float64
	const period = 60 * signal.Millisecond // of all that the board does, whole loops and outputs
	for at := 12 * signal.Second; at < 12*signal.Second+period; at += 20 * signal.Microsecond {
		turn := at + (b.loop-(at-b.loopAt)%b.loop)%b.loop
		frame := turn + (b.output-(turn-b.outputAt)%b.output)%b.output
		for _, pulse := range last {
			took = append(took, float64(frame-at)/1e6+1+pulse)
		}
	}
	slices.Sort(took)
	return took[int(p*float64(len(took)))]
}

func judgeResponse(e *assertions.Evidence, ms float64) assertions.Result {
	e.Policy = respond(ms)
	return assertions.Judge(assertions.PolicyBranch{Of: "response"}, e)[0]
}

// Boards whose periods hang together with that of the sensor's frames, from 200
// phases each: the mean estimate is the true quantile, the intervals hold it,
// and a board of half the rate is never taken for the good one.
func TestResponseOfBoardsThatHangTogetherWithTheSensor(t *testing.T) {
	seeds := uint64(sensorBoards)
	if testing.Short() {
		seeds = 30
	}
	ms := signal.Millisecond
	for _, loop := range []signal.Time{2500 * signal.Microsecond, 5 * ms, 10 * ms} {
		sum, truths, held := 0.0, 0.0, 0
		for seed := range seeds {
			random := rand.New(rand.NewPCG(seed, 5))
			b := sensing{loop: loop, output: 5 * ms, sensor: 5 * ms, loopAt: signal.Time(random.Int64N(int64(loop))), outputAt: signal.Time(random.Int64N(int64(5 * ms)))}
			truth := b.truth(0.95)
			e := b.play(seed)
			r := judgeResponse(e, 12)
			require.True(t, r.Measured(), r.Why)
			sum += r.Must().Estimate
			truths += truth
			if r.Must().Low <= truth && truth <= r.Must().High {
				held++
			}
			if loop == 10*ms {
				assert.NotEqual(t, assertions.Pass, judgeResponse(e, truth-2.5).Verdict, "what a loop of twice the rate keeps")
			}
		}
		t.Logf("loop of %v: mean 95 %% response %.3f ms, true %.3f ms, %d of %d intervals hold it", loop, sum/float64(seeds), truths/float64(seeds), held, seeds)
		assert.InEpsilon(t, truths, sum, 0.05)
		assert.GreaterOrEqual(t, float64(held), 0.9*float64(seeds))
	}
}

// Who compares two boards' responses has the readings that the quantile sums up.
func TestResponseGivesItsReadings(t *testing.T) {
	ms := signal.Millisecond
	r := judgeResponse(sensing{loop: 4 * ms, output: 3 * ms, sensor: 5 * ms, loopAt: 1, outputAt: 77}.play(1), 12)
	require.Len(t, r.Samples, 200)
	assert.InDelta(t, r.Must().Estimate, measure.ResponseQuantile(r.Samples, 0.95).Quantile, 1e-9)
}

func TestResponseIsJudged(t *testing.T) {
	ms := signal.Millisecond
	b := sensing{loop: 4 * ms, output: 3 * ms, sensor: 5 * ms, loopAt: 1, outputAt: 77}
	truth := b.truth(0.95)
	r := judgeResponse(b.play(1), truth+1)
	assert.Equal(t, assertions.Pass, r.Verdict, r.Why)
	assert.Equal(t, "ms", r.Must().Unit)
	assert.Equal(t, "response of rear_right, 95 % of 200 trials", r.Must().Quantity)
	r = judgeResponse(b.play(1), truth-1)
	assert.Equal(t, assertions.Fail, r.Verdict)
	assert.Contains(t, r.Why, "motor_rear_right answers 95 % of the changes of yaw_rate within")
	assert.Equal(t, assertions.Undecided, judgeResponse(b.play(1), truth).Verdict)
}

func TestResponseThatCannotBeDetermined(t *testing.T) {
	ms := signal.Millisecond
	good := sensing{loop: 4 * ms, output: 3 * ms, sensor: 5 * ms}
	tests := []struct {
		name   string
		change func(b *sensing)
		after  func(e *assertions.Evidence)
		want   assertions.Verdict
		why    string
	}{
		{"few trials", func(b *sensing) { b.trials = 199 }, nil, assertions.Undecided, "199 trials"},
		{"one phase", func(b *sensing) { b.still = true }, nil, assertions.Undecided, "phases"},
		{"one phase against the outputs", func(b *sensing) { b.still = true; b.sensor = 4 * ms; b.output = 4 * ms }, nil, assertions.Undecided, "at some phases of its frames"},
		{"one phase against the outputs, which the board chooses", func(b *sensing) { b.still = true; b.sensor = 4 * ms; b.output = 4 * ms }, func(e *assertions.Evidence) {
			for i := range e.Steps {
				e.Steps[i].OnRequest = true
			}
		}, assertions.Pass, ""},
		{"two in five are not answered", nil, deafen, assertions.Fail, "of 200 changes of yaw_rate did not move motor_"},
		{"silent", nil, func(e *assertions.Evidence) {
			for w := range e.Trace.Motor {
				e.Trace.Motor[w].Frames = nil
			}
		}, assertions.Fail, "none of 200"},
		{"commands at random", nil, func(e *assertions.Evidence) {
			random := rand.New(rand.NewPCG(1, 9))
			for w := range e.Trace.Motor {
				for i := range e.Trace.Motor[w].Frames {
					e.Trace.Motor[w].Frames[i].Value = random.Float64()
				}
			}
		}, assertions.Undecided, "no movement is an answer"},
		{"nothing on the wire", nil, func(e *assertions.Evidence) { e.Trace.Sent[trace.SentYawRate] = nil }, assertions.Undecided, "0 of 200"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			b := good
			if tt.change != nil {
				tt.change(&b)
			}
			e := b.play(1)
			if tt.after != nil {
				tt.after(e)
			}
			r := judgeResponse(e, 20)
			assert.Equal(t, tt.want, r.Verdict, "%+v", r)
			assert.Contains(t, r.Why, tt.why)
		})
	}
}

// deafen lets the board sleep through every fifth change, and thereby through
// the one back.
func deafen(e *assertions.Evidence) {
	s := &e.Steps[0]
	for i := 0; i+1 < len(s.Changes); i += 5 {
		for w := range e.Trace.Motor {
			before := e.Trace.Motor[w].Between(0, s.Changes[i])
			frames := e.Trace.Motor[w].Between(s.Changes[i], s.Changes[i+1])
			for j := range frames {
				frames[j].Value = before[len(before)-1].Value
			}
		}
	}
}

// One frame that stands off is no answer: it has to stay for two.
func TestResponseWaitsForTheSecondFrame(t *testing.T) {
	ms := signal.Millisecond
	e := sensing{loop: 10 * ms, output: 3 * ms, sensor: 5 * ms}.play(1)
	want := judgeResponse(e, 20)
	spikes := 0
	for _, change := range e.Steps[0].Changes {
		for w := range e.Trace.Motor {
			f := e.Trace.Motor[w].Between(change+6*ms, change+16*ms)
			if math.Abs(f[0].Value-f[1].Value) < 0.005 && math.Abs(f[0].Value-f[2].Value) > 0.01 {
				f[0].Value += 0.1
				spikes++
			}
		}
	}
	require.Greater(t, spikes, 50)
	assert.Equal(t, want, judgeResponse(e, 20))
}
