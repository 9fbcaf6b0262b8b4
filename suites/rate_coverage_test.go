package suites

import (
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/assertions/measure"
	"hilrig/plant"
	"hilrig/plant/portable"
	"hilrig/rig/board"
	"hilrig/rig/signal"
	"hilrig/suites/demo"
	"hilrig/suites/file"
	"hilrig/suites/language"
)

// draw draws a time between two, in whole microseconds, so that periods hang together by chance alone.
func drawTime(n *portable.Noise, low, high signal.Time) signal.Time {
	steps := uint64((high - low) / signal.Microsecond)
	return low + signal.Time(n.Uint64()%(steps+1))*signal.Microsecond
}

// coverageClass draws a board and the lines of the demo bench that are another.
type coverageClass struct {
	name string
	draw func(n *portable.Noise, s *board.Settings, bench *string)
}

func swap(text *string, from, to string) {
	if !strings.Contains(*text, from) {
		panic("the demo bench has no " + from)
	}
	*text = strings.Replace(*text, from, to, 1)
}

var coverageClasses = []coverageClass{
	{"plain", func(*portable.Noise, *board.Settings, *string) {}},
	{"lag of the yaw rate", func(n *portable.Noise, s *board.Settings, _ *string) { s.Shaping.YawLag = drawTime(n, 5*ms, 50*ms) }},
	{"lag of the commands", func(n *portable.Noise, s *board.Settings, _ *string) { s.Shaping.CommandLag = drawTime(n, 5*ms, 50*ms) }},
	{"slew limit", func(n *portable.Noise, s *board.Settings, _ *string) {
		s.Shaping.Slew = 0.3 + float64(n.Uint64()%3000)/1000
	}},
	{"slow sensors", func(n *portable.Noise, _ *board.Settings, bench *string) {
		swap(bench, "rate: 200 Hz", fmt.Sprintf("rate: %d Hz", 80+n.Uint64()%41))
		swap(bench, "throttle: {rate: 100 Hz", "throttle: {rate: 50 Hz")
		swap(bench, "steer: {rate: 100 Hz", "steer: {rate: 50 Hz")
	}},
	{"angle sensors", func(n *portable.Noise, s *board.Settings, bench *string) {
		period := drawTime(n, signal.Millisecond, 3*ms)
		s.Wheels, s.WheelDuty = board.Duty, board.DutyInput{Period: period, Least: 0.05, Most: 0.95}
		swap(bench, "kind: quadrature\n  lines: 32", fmt.Sprintf("kind: duty\n  period: %d us\n  least: 5 %%\n  most: 95 %%\n  steps: 4096\n  noise: %d mdeg",
			period/signal.Microsecond, 50+n.Uint64()%451))
	}},
	{"one frame per loop", func(_ *portable.Noise, s *board.Settings, _ *string) { s.Shaping.FramePerLoop = true }},
	{"a late motor", func(n *portable.Noise, s *board.Settings, _ *string) {
		s.Shaping.Delay[[2]int{0, 3}[n.Uint64()%2]] = drawTime(n, 2*ms, 8*ms)
	}},
	{"a motor at half rate", func(n *portable.Noise, s *board.Settings, _ *string) { s.Shaping.Every[[2]int{0, 3}[n.Uint64()%2]] = 2 }},
}

// drawn returns the n-th board of a class on its bench, and what is true of it.
func (c *coverageClass) drawn(t *testing.T, i uint64) (*Setup, *oracle) {
	n := portable.NewNoise(i, c.name)
	s := board.Bramble()
	s.EncoderLines = 32
	s.LoopPeriod, s.OutputPeriod = drawTime(&n, 2200, 10*ms), drawTime(&n, 2200*signal.Microsecond, 6*ms)
	s.LoopPeriod = max(s.LoopPeriod, 2200*signal.Microsecond)
	bench := string(demo.BenchYAML)
	swap(&bench, "lines: 256", "lines: 32")
	c.draw(&n, &s, &bench)
	bench = strings.Replace(bench, " mdeg", "e-3 deg", 1)
	setup, err := Load(Files{
		Car:   language.Source{Path: demo.CarPath, Data: demo.CarYAML},
		Bench: language.Source{Path: demo.BenchPath, Data: []byte(bench)}, Seed: i,
	})
	require.NoError(t, err)
	setup.WithBoard("drawn", s)
	return setup, &oracle{s: s, dead: 0.01}
}

// responseAlone measures the response as hilrig rate does, told of loop and frames what it else finds.
func responseAlone(t *testing.T, s *Setup, of *oracle) *Rate {
	s.wiring.Tick = rateTick
	ses, err := s.open(t.Context(), &file.Suite{Name: rateName}, s.board, nil)
	require.NoError(t, err)
	defer ses.close()
	r := &Rate{Loop: LoopRate{Rate: 1 / of.s.LoopPeriod.Seconds()}}
	for i, w := range plant.Wheels {
		r.Outputs[i] = OutputLine{Wheel: w, Frames: fewestTimed, Rate: 1 / of.framesEvery(w)}
	}
	require.NoError(t, r.respond(t.Context(), &rateRun{session: ses, draw: s.noise(rateName, "", "trials", 0)}))
	return r
}

// mostMissed is how many intervals of those boards may miss the truth: 16 of 200.
const mostMissed = max(1, coverageBoards*8/100)

// Of boards drawn in each class the stated interval of each motor's median holds the true one,
// as often as it says, but for what can be put down to chance: 184 of 200 or more.
func TestRateHoldsTheTruth(t *testing.T) {
	for _, c := range coverageClasses {
		t.Run(c.name, func(t *testing.T) {
			held := map[plant.Wheel]int{}
			var off []float64 // of the truth, in quarters of the interval's width
			for i := range uint64(coverageBoards) {
				s, truth := c.drawn(t, i+1)
				r := responseAlone(t, s, truth)
				assert.Empty(t, r.Response.Why, "board %d", i+1)
				for j := range r.Response.Motors {
					m := &r.Response.Motors[j]
					q, median := m.Quantiles[0], truth.median(m.Wheel)
					off = append(off, 4*(q.Value-median)/q.Within.Width())
					if q.Within.Low <= median && median <= q.Within.High {
						held[m.Wheel]++
					} else {
						t.Logf("board %d, %v: %.2f ms (%.2f to %.2f), true %.2f", i+1, m.Wheel, 1e3*q.Value, 1e3*q.Within.Low, 1e3*q.Within.High, 1e3*median)
					}
				}
			}
			spread := measure.Describe(off)
			t.Logf("of %d intervals each %d and %d hold the true median; off by %.2f ± %.2f quarters of their width", coverageBoards,
				held[plant.FrontLeft], held[plant.RearRight], spread.Mean, spread.Deviation)
			for _, w := range []plant.Wheel{plant.FrontLeft, plant.RearRight} {
				assert.GreaterOrEqual(t, held[w], coverageBoards-mostMissed)
			}
		})
	}
}
