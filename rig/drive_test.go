package rig_test

import (
	"context"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/plant"
	"hilrig/rig"
	"hilrig/rig/board"
	"hilrig/rig/decode"
	"hilrig/rig/signal"
	"hilrig/rig/simulated"
	"hilrig/rig/trace"
	"hilrig/stimulus"
	"hilrig/stimulus/wire"
)

const degree = 3.14159265358979323846 / 180

// car is a small four-motor car, its numbers invented.
func car() plant.Car {
	return plant.Car{
		Mass: 3.9, YawInertia: 0.065, FrontAxle: 0.165, RearAxle: 0.165, CGHeight: 0.05,
		FrontTrack: 0.3, RearTrack: 0.3, RollShare: 0.5,
		WheelRadius: 0.054, WheelInertia: 2.5e-4,
		Tyre: plant.Tyre{
			LongitudinalB: 8, LongitudinalC: 1.6, LongitudinalE: 0.5,
			LateralB: 7, LateralC: 1.4, LateralE: 0.4,
			LongitudinalMu: 0.75, LateralMu: 0.7, Load: 9.6, LoadSensitivity: 0.05,
		},
		Motor: plant.Motor{StallTorque: 1.2, NoLoadSpeed: 420, TorqueLimit: 0.6, DragBrake: 0.1},
		Servo: plant.Servo{Rate: 8, Lag: 0.02},
	}
}

// wiring is that of the built-in board: 256-line encoders, a 200 Hz yaw sensor,
// servo pulses back.
func wiring() rig.Wiring {
	pulse := wire.Pulse{Frame: 10 * signal.Millisecond, Low: signal.Millisecond, High: 2 * signal.Millisecond, HighValue: 1}
	steer := pulse
	steer.LowValue, steer.HighValue = -30*degree, 30*degree
	w := rig.Wiring{
		Steer: steer, Throttle: pulse, Gain: pulse,
		Ports: []signal.PortSpec{{Name: "yaw_serial", Baud: 115200}},
		Frames: []wire.Frame{{
			Port: "yaw_serial", Period: 5 * signal.Millisecond,
			Fields: []wire.Field{
				{Kind: wire.Constant, Bytes: []byte{0xA5, 0x5A}},
				{Kind: wire.Sequence, Size: 1},
				{Kind: wire.Integer, Size: 2, Signed: true, Channel: "yaw_rate", Scale: degree / 16},
				{Kind: wire.CRC8, Poly: 7, From: 2},
			},
		}},
	}
	for i := range w.Encoders {
		w.Encoders[i] = wire.WheelSensor{Quadrature: wire.Quadrature{Lines: 256}}
		w.Motors[i] = decode.Motor{Servo: decode.Servo{Idle: signal.Millisecond, Full: 2 * signal.Millisecond}}
	}
	return w
}

// drive opens a rig over a simulated bench with the built-in board, powered up.
func drive(t testing.TB, seed uint64) *rig.Rig {
	w := wiring()
	layout := w.Layout()
	b, err := board.NewBuiltIn(board.Bramble(), layout, seed)
	require.NoError(t, err)
	bench, err := simulated.New(simulated.Settings{Layout: layout, Board: b})
	require.NoError(t, err)
	t.Cleanup(func() { assert.NoError(t, bench.Close()) })
	r, err := rig.New(bench, rig.Settings{Wiring: w, Car: car(), Seed: seed})
	require.NoError(t, err)
	require.NoError(t, r.Settle(context.Background(), stimulus.Values{}, signal.Second, 0))
	return r
}

// closed is a drive at 10 m/s through a gentle bend with the plant under the
// board's commands.
func closed(length signal.Time) *stimulus.Program {
	p := stimulus.Held(stimulus.Values{Speed: 10, Steer: 2 * degree, Throttle: 0.45, Gain: 0.5}, length)
	p.Closed = true
	return p
}

func TestOpenLoopReachesTheBoardAndComesBack(t *testing.T) {
	r := drive(t, 1)
	var tr trace.Trace
	p := stimulus.Held(stimulus.Values{Speed: 4, Throttle: 0.4, Gain: 0.5}, 500*signal.Millisecond)
	require.NoError(t, r.Play(context.Background(), p, &tr))
	for m := range tr.Motor {
		frames := tr.Motor[m].Between(tr.Start+100*signal.Millisecond, tr.Start+500*signal.Millisecond)
		require.Greater(t, len(frames), 100, "333 frames a second")
		assert.InDelta(t, 0.4, frames[len(frames)-1].Value, 0.002, "straight ahead the throttle is passed on")
		assert.Empty(t, tr.Motor[m].Events)
	}
	assert.Len(t, tr.Sent[trace.SentYawRate], 100)
	assert.InDelta(t, 4/0.054, tr.Column[trace.WheelRearLeft][400], 1e-9)
}

// In open loop the heading is the integral of the yaw rate that is held, from one program to the
// next, and comes round at half a turn.
func TestHeadingFollowsTheHeldYawRate(t *testing.T) {
	r := drive(t, 1)
	var tr trace.Trace
	require.NoError(t, r.Play(context.Background(), stimulus.Held(stimulus.Values{YawRate: 60 * degree}, 2*signal.Second), nil))
	require.NoError(t, r.Play(context.Background(), stimulus.Held(stimulus.Values{YawRate: 90 * degree}, 2*signal.Second), &tr))
	for i, want := range map[int]float64{0: 120, 500: 165, 1000: -150, 1999: -60.09} {
		assert.InDelta(t, want*degree, tr.Column[trace.Heading][i], 1e-6, "after %d ms", i)
	}
}

// A fault that changes the value of the yaw rate is on its wire, and the car turns as it did.
func TestHeadingIsRightWhereTheYawRateIsNot(t *testing.T) {
	for _, kind := range []stimulus.FaultKind{stimulus.Reversed, stimulus.Noisy, stimulus.Spike} {
		r := drive(t, 1)
		var tr trace.Trace
		p := stimulus.Held(stimulus.Values{YawRate: 60 * degree}, signal.Second)
		p.Faults = []stimulus.Fault{{Kind: kind, Wire: "yaw_serial", By: 100 * degree, Frames: 50, To: signal.Second}}
		require.NoError(t, r.Play(context.Background(), p, &tr))
		assert.InDelta(t, 30*degree, tr.Column[trace.Heading][500], 1e-6, "%v", kind)
		assert.NotEqual(t, tr.Sent[trace.SentYawRate][20].Value, 60*degree, "%v", kind)
	}
}

func TestClosedLoopTurnsAndStaysFinite(t *testing.T) {
	r := drive(t, 1)
	var tr trace.Trace
	require.NoError(t, r.Play(context.Background(), closed(3*signal.Second), &tr))
	yaw := tr.Column[trace.YawRate]
	last := yaw[len(yaw)-1]
	assert.Greater(t, last, 0.2, "steer to the left, yaw to the left")
	assert.Less(t, last, 3.0)
	assert.Greater(t, tr.Column[trace.Speed][2000], 5.0)
}

func TestDelayThroughTheLoopIsTwoTicks(t *testing.T) {
	// A command that is complete at the end of tick n-2 is the newest one that row n knows.
	r := drive(t, 1)
	var tr trace.Trace
	p := stimulus.Held(stimulus.Values{Speed: 4, Throttle: 0.4}, 400*signal.Millisecond)
	require.NoError(t, r.Play(context.Background(), p, &tr))
	frames := tr.Motor[0].Frames
	changed := 0
	for i, f := range frames {
		if i == 0 || f.Value == frames[i-1].Value {
			continue
		}
		changed++
		for row, command := range tr.Column[trace.MotorFrontLeft] {
			begins := tr.Start + signal.Time(row)*tr.Tick
			if known := f.End <= begins-tr.Tick; known {
				assert.Equal(t, f.Value, command, "row %d begins at %v, frame ended at %v", row, begins, f.End)
				break
			}
			assert.NotEqual(t, f.Value, command, "row %d begins at %v, frame ended at %v", row, begins, f.End)
		}
	}
	assert.NotZero(t, changed, "the throttle came up during the program")
}

func TestPlayAllocatesNothing(t *testing.T) {
	r := drive(t, 1)
	var tr trace.Trace
	p := closed(100 * signal.Millisecond)
	play := func() {
		if err := r.Play(context.Background(), p, &tr); err != nil {
			t.Fatal(err)
		}
	}
	for range 10 {
		play()
	}
	assert.Zero(t, testing.AllocsPerRun(10, play))
}

func TestSameSeedSameTrace(t *testing.T) {
	first, second, other := digest(t, 1), digest(t, 1), digest(t, 2)
	assert.Equal(t, first, second)
	assert.NotEqual(t, first, other)
}

func TestPlayEndsWhenItsContextDoes(t *testing.T) {
	r := drive(t, 1)
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	before := r.Now()
	assert.ErrorIs(t, r.Play(ctx, closed(signal.Second), nil), context.Canceled)
	assert.Equal(t, before, r.Now())
}

// BenchmarkVirtualDrive drives in closed loop at 10 m/s and reports how many
// times faster than real time one core does it.
func BenchmarkVirtualDrive(b *testing.B) {
	const length = signal.Second
	r := drive(b, 1)
	var tr trace.Trace
	p := closed(length)
	require.NoError(b, r.Play(context.Background(), p, &tr))
	b.ReportAllocs()
	for b.Loop() {
		if err := r.Play(context.Background(), p, &tr); err != nil {
			b.Fatal(err)
		}
	}
	speed := tr.Column[trace.Speed]
	if last := speed[len(speed)-1]; last < 9 || last > 11 {
		b.Fatalf("the car came to %.2f m/s; the benchmark is of 10 m/s", last)
	}
	b.ReportMetric(float64(b.N)*length.Seconds()/b.Elapsed().Seconds(), "x_realtime")
}
