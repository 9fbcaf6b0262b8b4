package measure_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/assertions/measure"
)

// loop is a board as far as its timers go: it reads the input once in a
// period, and a frame carries what was read last before it began.
type loop struct {
	period  float64 // s
	locked  float64 // jitter about the timer's grid, share of period, rms
	adds    float64 // jitter that accumulates, share of period, rms
	output  float64 // s, from frame to frame
	step    float64 // of the output, share of range
	lag     float64 // s, from reading to when a frame can carry it
	seconds float64
}

// input is the played speed in m/s: a sine whose frequency rises from 4.2 to
// 5.8 Hz in 10 s.
func input(t float64) float64 {
	return 3 + 2*math.Sin(2*math.Pi*(4.2*t+0.08*t*t))
}

func played(seconds float64) measure.Excitation {
	p := measure.Excitation{Step: 1e-3}
	for i := range int(seconds * 1000) {
		p.Values = append(p.Values, input(float64(i)*1e-3))
	}
	return p
}

// output is the command of a motor at a speed: a car's demand over speed by the
// single-track formula, less a held yaw rate.
func output(v float64) float64 { return 0.45 + 0.0027*(16*v/(0.33+0.0028*v*v)-40) }

// run returns the frames, and the true mean period from reading to reading.
func (b loop) run(random *rand.Rand) (frames []measure.Answer, mean float64) {
	nominal := b.period * random.Float64()
	next, wander, value := nominal, 0.0, 0.0
	var first, last float64
	reads := 0
	for frame := b.period + b.lag + b.output*random.Float64(); frame < b.seconds; frame += b.output {
		for next+b.lag <= frame {
			value = output(input(next))
			if reads == 0 {
				first = next
			}
			last = next
			reads++
			nominal += b.period
			wander += b.adds * b.period * random.NormFloat64()
			next = nominal + wander + b.locked*b.period*random.NormFloat64()
		}
		frames = append(frames, measure.Answer{At: frame, Value: math.Round(value/b.step) * b.step})
	}
	return frames, (last - first) / float64(reads-1)
}

func find(t *testing.T, b loop, seed uint64) (u measure.Updates, mean float64) {
	t.Helper()
	frames, mean := b.run(rand.New(rand.NewPCG(seed, 1)))
	u, err := measure.UpdatePeriod(played(b.seconds), frames, b.step)
	require.NoError(t, err)
	return u, mean
}

func holds(i measure.Interval, x float64) bool { return i.Low <= x && x <= i.High }

// drawn is a board at random: loop of 40 Hz to 2 kHz, output of a quarter to
// four loops but within what its format can do, servo pulses in steps of 1 us
// or a finer format, one of the two kinds of jitter.
func drawnLoop(random *rand.Rand) loop {
	b := loop{period: 1 / (40 * math.Pow(50, random.Float64())), seconds: 9}
	shortest := 2.2e-3
	b.step = 0.001
	if random.IntN(2) == 0 {
		shortest, b.step = 0.125e-3, 1.0/2000
	}
	b.output = min(max(b.period*math.Pow(4, 2*random.Float64()-1), shortest), 25e-3)
	b.lag = b.period * random.Float64()
	if random.IntN(2) == 0 {
		b.locked = 0.1 * random.Float64()
	} else {
		b.adds = 0.01 * random.Float64()
	}
	return b
}

// sweeps says whether the frames move against the loop by a whole turn while it is
// watched: where they do not, no one can tell the loop from outside.
func (b loop) sweeps() bool {
	frames := b.seconds / b.output
	turns := b.output / b.period
	return b.output < 0.75*b.period || math.Abs(turns-math.Round(turns))*frames > 1.5
}

// many holds n boards at random against what is promised of them; the intervals of so many may miss the truth.
func many(t *testing.T, n, missed int) {
	random := rand.New(rand.NewPCG(7, 3))
	decided, right, still := 0, 0, 0
	worst := 0.0
	for i := range n {
		b := drawnLoop(random)
		frames, mean := b.run(random)
		u, err := measure.UpdatePeriod(played(b.seconds), frames, b.step)
		require.NoError(t, err, "board %d: %+v", i, b)
		if !b.sweeps() {
			still++
			continue
		}
		narrow := b.output <= 2*b.period || b.adds == 0
		if !u.Decided() {
			assert.False(t, narrow, "board %d undecided: %+v\n%+v", i, b, u)
			continue
		}
		decided++
		if holds(u.Within, mean) {
			right++
		} else {
			t.Logf("board %d: %+v is %.6f ms, not %+v", i, b, mean*1000, u)
		}
		width := (u.Within.High - u.Within.Low) / u.Period
		worst = max(worst, width)
		if narrow {
			assert.LessOrEqual(t, width, 0.02, "board %d: %+v", i, b)
		} else {
			assert.LessOrEqual(t, width, 0.1, "board %d: %+v", i, b)
		}
	}
	t.Logf("%d boards: %d decided, %d of them right, widest %.2f %%, %d whose frames stand still against the loop", n, decided, right, 100*worst, still)
	assert.LessOrEqual(t, decided-right, missed)
	assert.GreaterOrEqual(t, decided+still, n*95/100)
}
