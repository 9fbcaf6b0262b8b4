package suites

import (
	"context"
	"fmt"
	"math"
	"runtime"
	"slices"
	"strings"
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/assertions/measure"
	"hilrig/plant/portable"
	"hilrig/rig/benchtest/drawn"
	"hilrig/rig/board"
	"hilrig/rig/decode"
	"hilrig/rig/signal"
)

// drawnBoard is a board of known timing, drawn at random, with the wires it is on.
type drawnBoard struct {
	board.Settings
	kind  decode.MotorKind
	noise float64 // of the yaw rate, deg/s, rms
	about string
}

// shortestOutput is the shortest period of commands that is drawn for each format: room
// for a frame and a rest.
var shortestOutput = map[decode.MotorKind]signal.Time{
	decode.ServoPulse: 2200 * signal.Microsecond, decode.OneShot125: 300 * signal.Microsecond,
	decode.DShot150: 150 * signal.Microsecond, decode.DShot300: 125 * signal.Microsecond, decode.DShot600: 125 * signal.Microsecond,
}

// drawBoard draws the n-th board: a loop of 120 to 1500 Hz whose period jitters by 3 %,
// commands in any format, from four a loop to one in four loops, many of them about as
// often as the loop turns or half as often, or one a loop.
func drawBoard(n int) drawnBoard {
	noise := portable.NewNoise(uint64(n), "boards of known timing")
	span := func(low, high float64) float64 { return low * math.Pow(high/low, noise.Float64()) }
	one := func(of int) int { return int(noise.Uint64() % uint64(of)) }
	b := drawnBoard{Settings: board.Bramble()}
	b.kind = []decode.MotorKind{decode.ServoPulse, decode.OneShot125, decode.DShot150, decode.DShot300, decode.DShot600}[one(5)]
	loop := 1 / span(120, 1500)
	shortest := shortestOutput[b.kind].Seconds()
	output := loop * span(0.25, 4)
	switch one(5) {
	case 0:
		output = loop * span(1.9, 2.1)
	case 1:
		output = loop * span(0.95, 1.05)
	case 2:
		if 0.97*loop-5e-5 > shortest {
			b.Shaping.FramePerLoop = true
		}
	}
	b.LoopPeriod = signal.FromSeconds(loop)
	b.OutputPeriod = signal.FromSeconds(min(max(output, shortest), 20e-3))
	b.ClockError = one(401) - 200
	b.EncoderLines = []int{48, 64, 100, 128, 256, 512, 1024, 2048}[one(8)]
	b.Timing.LoopJitter = 0.03
	switch one(4) {
	case 0:
		b.Timing.CountWindow = b.LoopPeriod * 9 / 10 // the counts of each turn
	case 1:
		b.Timing.CountWindow = signal.FromSeconds(span(1e-3, 5e-3))
	}
	if one(2) == 0 && !b.Shaping.FramePerLoop {
		b.Timing.LateOneIn, b.Timing.LateBy = 100, signal.FromSeconds(loop*span(0.3, 0.9))
	}
	b.noise = span(0.05, 0.5)
	b.about = fmt.Sprintf("%4d %6.1f Hz out/loop %5.2f %-10v noise %.2f lines %4d window/loop %4.1f late %v perloop %v",
		n, 1/loop, b.OutputPeriod.Seconds()/loop, b.kind, b.noise, b.EncoderLines, b.Timing.CountWindow.Seconds()/loop, b.Timing.LateOneIn > 0, b.Shaping.FramePerLoop)
	return b
}

// setup puts the board on the demo's bench, whose wires are changed to its.
func (b *drawnBoard) setup(t testing.TB, n int) *Setup {
	s := load(t, "")
	s.Seed = uint64(n)
	for i := range s.wiring.Motors {
		m := decode.Motor{Kind: b.kind}
		if b.kind == decode.ServoPulse {
			m = s.wiring.Motors[i]
		}
		s.wiring.Motors[i] = m
		s.wiring.Encoders[i].Quadrature.Lines = b.EncoderLines
	}
	s.wiring.Frames = slices.Clone(s.wiring.Frames)
	s.wiring.Frames[0].Fields = slices.Clone(s.wiring.Frames[0].Fields)
	s.wiring.Frames[0].Fields[2].Noise = b.noise * math.Pi / 180
	b.Output = outputOf(&s.wiring)
	if !b.kind.Digital() {
		p := s.wiring.Motors[0].Pulse()
		b.MotorIdle, b.MotorFull = p.Idle, p.Full
	}
	s.WithBoard("drawn", b.Settings)
	return s
}

// told is what a drawn board was told.
type told struct {
	decided, right, multiple bool
	ratio                    float64 // of the interval's width to the oracle's
	line                     string
}

// tell measures the loop rate of the n-th drawn board and compares it with what an
// oracle makes of the turns themselves.
func tell(t testing.TB, n int) told {
	b := drawBoard(n)
	var turns []signal.Time
	b.Timing.Turned = func(at signal.Time) { turns = append(turns, at) }
	r, err := b.setup(t, n).Rate(context.Background())
	require.NoError(t, err, b.about)
	truth := (1 + float64(b.ClockError)*1e-6) / b.LoopPeriod.Seconds()
	l := &r.Loop
	x := told{decided: l.Why == ""}
	x.right = l.Within.Low <= truth && truth <= l.Within.High
	ratio := l.Rate / truth
	x.multiple = x.decided && (ratio > 1.35 || ratio < 0.7)
	x.ratio = (l.Within.High - l.Within.Low) / truth / turnOracle(turns, l.From, l.To)
	state := "decided"
	if !x.decided {
		state = "UNDECIDED " + l.Why
	} else if !x.right {
		state = "WRONG"
	}
	x.line = fmt.Sprintf("%s: %.2f Hz (%.2f..%.2f), of truth %.4f, width %.2f of the oracle's %s", b.about, l.Rate, l.Within.Low, l.Within.High, ratio, x.ratio, state)
	return x
}

// Boards that count encoder edges over windows of several turns pass the speed on in some turns
// alone, and in now more, now fewer: the answers to the yaw rate, which each turn reads, tell the
// turns.
func TestRateOfBoardsThatCountOverWindows(t *testing.T) {
	if !drawn.Row(1, 3) {
		t.Skip("another is drawn")
	}
	for _, n := range sampleOfWindows() {
		x := tell(t, n)
		assert.True(t, x.decided && x.right, x.line)
		assert.LessOrEqual(t, x.ratio, 2.0, x.line)
	}
}

// turnOracle returns the width, as a share, of the 99 % interval of the mean period for one
// who knows when the loop turned from one time to another: turns that were late are left
// out with the next.
func turnOracle(turns []signal.Time, from, to signal.Time) float64 {
	var periods []float64
	for i := 1; i < len(turns); i++ {
		if turns[i-1] >= from && turns[i] <= to {
			periods = append(periods, (turns[i] - turns[i-1]).Seconds())
		}
	}
	slices.Sort(periods)
	median := measure.Quantile(periods, 0.5)
	periods = slices.DeleteFunc(periods, func(p float64) bool { return math.Abs(p/median-1) > 0.1 })
	d := measure.Describe(periods)
	return 2 * 2.576 * d.Deviation / d.Mean / math.Sqrt(float64(len(periods)))
}

// tellAll tells boards from the first on, as many side by side as there are processors.
func tellAll(t *testing.T, first, n int) {
	all := make([]told, n)
	var wait sync.WaitGroup
	next := make(chan int)
	for range min(runtime.GOMAXPROCS(0), 2) {
		wait.Go(func() {
			for i := range next {
				all[i] = tell(t, first+i)
			}
		})
	}
	for i := range n {
		next <- i
	}
	close(next)
	wait.Wait()
	decided, right, multiples := 0, 0, 0
	var ratios []float64
	var notable []string
	for _, x := range all {
		if x.decided {
			decided++
			ratios = append(ratios, x.ratio)
			if x.right {
				right++
			}
			if x.multiple {
				multiples++
			}
		}
		if !x.decided || !x.right || x.ratio > 2 {
			notable = append(notable, x.line)
		}
	}
	slices.Sort(ratios)
	t.Logf("boards %d  decided %d  true %d  halved or doubled %d  width over the oracle's: median %.2f, 90 %% %.2f, most %.2f\n%s", n, decided, right, multiples,
		measure.Quantile(ratios, 0.5), measure.Quantile(ratios, 0.9), ratios[len(ratios)-1], strings.Join(notable, "\n"))
	assert.GreaterOrEqual(t, decided, n*90/100)
	assert.GreaterOrEqual(t, right, decided-max(allowedWrong(decided), 1))
	assert.Zero(t, multiples)
	assert.LessOrEqual(t, measure.Quantile(ratios, 0.5), 1.4)
	assert.LessOrEqual(t, measure.Quantile(ratios, 0.9), 2.0)
}

// allowedWrong returns how many of n intervals of 99 % may miss: more do once in a
// hundred times at most.
func allowedWrong(n int) int {
	// CALC: the 99 % quantile of a Poisson distribution of mean n/100.
	mean := float64(n) / 100
	p := math.Exp(-mean)
	sum, k := p, 0
	for sum < 0.99 {
		k++
		p *= mean / float64(k)
		sum += p
	}
	return k
}
