package measure_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"
	"time"

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
	phase   float64 // of the output against the loop, share of the output's period
	lag     float64 // s, from reading to when a frame can carry it
	smooth  float64 // s, over which the input is averaged
	seconds float64
}

// input is the played speed: a sine about 3 m/s.
func input(t float64) float64 { return 3 + 2*math.Sin(2*math.Pi*5*t) }

func played(seconds float64) measure.Played {
	p := measure.Played{Step: 1e-3}
	for i := range int(seconds * 1000) {
		p.Values = append(p.Values, input(float64(i)*1e-3))
	}
	return p
}

// output is the command that belongs to an input: a car's demand over speed.
func output(v float64) float64 { return 0.45 + 0.0027*(20*v/(0.33+0.0028*v*v)-40) }

// run returns the frames, and the true mean period from reading to reading.
func (b loop) run(random *rand.Rand) (frames []measure.Answer, mean float64) {
	next := b.period * random.Float64()
	wander := 0.0
	var value float64
	var reads int
	var first, last, nominal float64
	nominal = next
	frame := b.period + b.output*b.phase
	turn := func() {
		value = output(input(next - b.smooth/2))
		if reads == 0 {
			first = next
		}
		last = next
		reads++
		nominal += b.period
		wander += b.adds * b.period * random.NormFloat64()
		next = nominal + wander + b.locked*b.period*random.NormFloat64()
	}
	for frame < b.seconds {
		for next+b.lag <= frame {
			turn()
		}
		v := math.Round(value/b.step) * b.step
		frames = append(frames, measure.Answer{At: frame, Value: v})
		frame += b.output
	}
	return frames, (last - first) / float64(reads-1)
}

func TestTry(t *testing.T) {
	random := rand.New(rand.NewPCG(1, 2))
	good := 0
	n := 40
	for i := range n {
		b := loop{period: 1 / (40 * math.Pow(50, random.Float64())), seconds: 10, step: 0.001, lag: 0.1e-3}
		if i%2 == 0 {
			b.locked = 0.1 * random.Float64()
		} else {
			b.adds = 0.01 * random.Float64()
		}
		b.output = max(b.period*0.25*math.Pow(16, random.Float64()), 2.3e-3)
		b.phase = random.Float64()
		frames, mean := b.run(random)
		t0 := time.Now()
		u, err := measure.UpdatePeriod(played(b.seconds), frames, b.step)
		if err != nil {
			fmt.Println(err)
			continue
		}
		in := u.Within.Low <= mean && mean <= u.Within.High
		if in {
			good++
		}
		fmt.Printf("T %.3f P %.3f (%.2f) a %.3f b %.4f -> %.4f true %.4f err %.1e width %.1e in %v noise %.3f rivals %v locked %v %v\n", b.period*1e3, b.output*1e3, b.output/b.period, b.locked, b.adds, u.Period*1e3, mean*1e3, u.Period/mean-1, (u.Within.High-u.Within.Low)/u.Period, in, u.Noise, u.Rivals, u.Locked, time.Since(t0).Round(time.Millisecond))
	}
	fmt.Println(good, "of", n)
}
