package process_test

import (
	"bufio"
	"bytes"
	"context"
	"io"
	"os"
	"os/exec"
	"testing"
	"time"

	"hilrig/plant"
	"hilrig/rig"
	"hilrig/rig/decode"
	"hilrig/rig/process"
	"hilrig/rig/signal"
	"hilrig/rig/simulated"
	"hilrig/stimulus"
	"hilrig/stimulus/wire"
)

// answers is a board that does nothing but to answer, and says every line back where all is set.
func answers(all bool) int {
	in, out := bufio.NewReaderSize(os.Stdin, 1<<16), bufio.NewWriterSize(os.Stdout, 1<<16)
	for {
		line, err := in.ReadSlice('\n')
		switch {
		case err != nil:
			return 0
		case all:
			_, _ = out.Write(line)
		case bytes.HasPrefix(line, []byte("to ")):
			_, _ = out.WriteString("at ")
			_, _ = out.Write(line[len("to "):])
		case bytes.HasPrefix(line, []byte("capture")), bytes.HasPrefix(line, []byte("restart")):
			_, _ = out.WriteString("ready answers\n")
		default:
			continue
		}
		if out.Flush() != nil {
			return 1
		}
	}
}

// bare is a line that goes over two pipes to another program and comes back, with nothing made of it.
type bare struct {
	in  io.Writer
	out *bufio.Reader
}

func newBare(b *testing.B) *bare {
	c := exec.Command(os.Args[0], asBoard, "echoes")
	in, err := c.StdinPipe()
	if err != nil {
		b.Fatal(err)
	}
	out, err := c.StdoutPipe()
	if err != nil {
		b.Fatal(err)
	}
	if err := c.Start(); err != nil {
		b.Fatal(err)
	}
	b.Cleanup(func() {
		in.Close()
		_ = c.Wait()
	})
	return &bare{in, bufio.NewReaderSize(out, 1<<16)}
}

// exchange sends a line as long as a step's and waits until it is back.
func (x *bare) exchange(b *testing.B) {
	if _, err := io.WriteString(x.in, "to 1234000000\n"); err != nil {
		b.Fatal(err)
	}
	if _, err := x.out.ReadSlice('\n'); err != nil {
		b.Fatal(err)
	}
}

// opened starts a board that only answers.
func opened(b *testing.B) *process.Board {
	board, err := process.Start(command("answers"), layout())
	if err != nil {
		b.Fatal(err)
	}
	b.Cleanup(func() { board.Close() })
	return board
}

// BenchmarkAnswer is a step of 1 ms without edges, as in closed loop, beside a bare line there and back: in turns of
// a hundred, so that both have the same machine. The ratio is to be at most 1.3.
func BenchmarkAnswer(b *testing.B) {
	board, x := opened(b), newBare(b)
	var until signal.Time
	var out []signal.Edge
	var steps, lines time.Duration
	turns := 0
	for b.Loop() {
		began := time.Now()
		for range 100 {
			until += signal.Millisecond
			var err error
			if out, err = board.Run(nil, until, out[:0]); err != nil {
				b.Fatal(err)
			}
		}
		between := time.Now()
		for range 100 {
			x.exchange(b)
		}
		steps, lines = steps+between.Sub(began), lines+time.Since(between)
		turns += 100
	}
	b.ReportMetric(float64(steps.Nanoseconds())/float64(turns), "ns/step")
	b.ReportMetric(float64(lines.Nanoseconds())/float64(turns), "ns/bare")
	b.ReportMetric(float64(steps)/float64(lines), "step/bare")
}

// BenchmarkEdge is what an edge adds to a step, said to a board that only reads over it: at most 0.3 us.
func BenchmarkEdge(b *testing.B) {
	const edges = 1000
	board := opened(b)
	in, out := make([]signal.Edge, edges), make([]signal.Edge, 0, 8)
	var until signal.Time
	var with, without time.Duration
	turns := 0
	for b.Loop() {
		for i := range in {
			in[i] = signal.Edge{At: until + signal.Time(i+1)*50*signal.Microsecond, Line: 4, Level: i%2 == 0}
		}
		until += 50 * signal.Millisecond
		began := time.Now()
		var err error
		if out, err = board.Run(in, until, out[:0]); err != nil {
			b.Fatal(err)
		}
		between := time.Now()
		until += signal.Millisecond
		if out, err = board.Run(nil, until, out[:0]); err != nil {
			b.Fatal(err)
		}
		with, without = with+between.Sub(began), without+time.Since(between)
		turns++
	}
	b.ReportMetric(float64((with-without).Nanoseconds())/float64(turns*edges), "ns/edge")
}

// BenchmarkOpenLoop is a tick of the whole loop in open loop, car at rest or turning its wheels, with steps joined and
// without, against a board that only answers. What a bench with no board takes is in it. Joined it is to be below 5 us.
func BenchmarkOpenLoop(b *testing.B) {
	for _, test := range []struct {
		name   string
		values stimulus.Values
		ahead  signal.Time
	}{
		{"rest/joined", stimulus.Values{}, 50 * signal.Millisecond},
		{"rest/each", stimulus.Values{}, 0},
		{"wheels/joined", stimulus.Values{Speed: 4, Throttle: 0.4}, 50 * signal.Millisecond},
		{"wheels/each", stimulus.Values{Speed: 4, Throttle: 0.4}, 0},
	} {
		b.Run(test.name, func(b *testing.B) {
			r := looped(b, test.ahead)
			const ticks = 500
			p := stimulus.Held(test.values, ticks*signal.Millisecond)
			n := 0
			for b.Loop() {
				if err := r.Play(context.Background(), p, nil); err != nil {
					b.Fatal(err)
				}
				n += ticks
			}
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(n), "ns/tick")
		})
	}
}

// looped is the loop over a bench whose board only answers.
func looped(b *testing.B, ahead signal.Time) *rig.Rig {
	pulse := wire.Pulse{Frame: 10 * signal.Millisecond, Low: signal.Millisecond, High: 2 * signal.Millisecond, HighValue: 1}
	steer := pulse
	steer.LowValue, steer.HighValue = -0.5, 0.5
	w := rig.Wiring{Steer: steer, Throttle: pulse, Gain: pulse}
	for i := range w.Encoders {
		w.Encoders[i] = wire.WheelSensor{Quadrature: wire.Quadrature{Lines: 24}}
		w.Motors[i] = decode.Motor{Servo: decode.Servo{Idle: signal.Millisecond, Full: 2 * signal.Millisecond}}
	}
	board, err := process.Start(command("answers"), w.Layout())
	if err != nil {
		b.Fatal(err)
	}
	bench, err := simulated.New(simulated.Settings{Layout: w.Layout(), Board: board})
	if err != nil {
		b.Fatal(err)
	}
	b.Cleanup(func() { bench.Close() })
	r, err := rig.New(bench, rig.Settings{Wiring: w, Seed: 1, Ahead: ahead, Car: plant.Car{
		Mass: 3.9, YawInertia: 0.065, FrontAxle: 0.165, RearAxle: 0.165, CGHeight: 0.05,
		FrontTrack: 0.3, RearTrack: 0.3, RollShare: 0.5, WheelRadius: 0.054, WheelInertia: 2.5e-4,
		Tyre: plant.Tyre{
			LongitudinalB: 8, LongitudinalC: 1.6, LongitudinalE: 0.5, LateralB: 7, LateralC: 1.4, LateralE: 0.4,
			LongitudinalMu: 0.75, LateralMu: 0.7, Load: 9.6, LoadSensitivity: 0.05,
		},
		Motor: plant.Motor{StallTorque: 1.2, NoLoadSpeed: 420, TorqueLimit: 0.6, DragBrake: 0.1},
		Servo: plant.Servo{Rate: 8, Lag: 0.02},
	}})
	if err != nil {
		b.Fatal(err)
	}
	return r
}
