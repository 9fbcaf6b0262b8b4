//go:build linux

package registers

import (
	"context"
	"math"
	"sync/atomic"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/plant"
	"hilrig/rig"
	"hilrig/rig/decode"
	"hilrig/rig/raspberry/hostlines"
	"hilrig/rig/raspberry/realtime"
	"hilrig/rig/raspberry/serial/serialtest"
	"hilrig/rig/signal"
	"hilrig/rig/trace"
	"hilrig/stimulus"
	"hilrig/stimulus/wire"
)

// wiring is a car's with encoders, pulses and one port.
func wiring(port signal.PortSpec) rig.Wiring {
	pulse := wire.Pulse{Frame: 10 * ms, Low: ms, High: 2 * ms, HighValue: 1}
	steer := pulse
	steer.LowValue, steer.HighValue = -0.5, 0.5
	w := rig.Wiring{
		Steer: steer, Throttle: pulse, Gain: pulse,
		Ports: []signal.PortSpec{port},
		Frames: []wire.Frame{{Port: port.Name, Period: 5 * ms, Fields: []wire.Field{
			{Kind: wire.Constant, Bytes: []byte{0xA5, 0x5A}},
			{Kind: wire.Integer, Size: 2, Signed: true, Channel: "yaw_rate", Scale: 1e-3},
		}}},
	}
	for i := range w.Encoders {
		w.Encoders[i] = wire.WheelSensor{Quadrature: wire.Quadrature{Lines: 64}}
		w.Motors[i] = decode.Motor{Servo: decode.Servo{Idle: ms, Full: 2 * ms}}
	}
	return w
}

func car() plant.Car {
	return plant.Car{
		Mass: 3.9, YawInertia: 0.065, FrontAxle: 0.165, RearAxle: 0.165, CGHeight: 0.05,
		FrontTrack: 0.3, RearTrack: 0.3, RollShare: 0.5, WheelRadius: 0.054, WheelInertia: 2.5e-4,
		Tyre: plant.Tyre{
			LongitudinalB: 8, LongitudinalC: 1.6, LongitudinalE: 0.5, LateralB: 7, LateralC: 1.4, LateralE: 0.4,
			LongitudinalMu: 0.75, LateralMu: 0.7, Load: 9.6, LoadSensitivity: 0.05,
		},
		Motor: plant.Motor{StallTorque: 1.2, NoLoadSpeed: 420, TorqueLimit: 0.6, DragBrake: 0.1},
		Servo: plant.Servo{Rate: 8, Lag: 0.02},
	}
}

// pinsOf gives each line a pin, from GPIO2 on.
func pinsOf(layout signal.Layout) (pins hostlines.Pins) {
	for i := range layout.Lines {
		pins = append(pins, uint8(2+i))
	}
	return pins
}

// line returns the line of that name and its bit in the bank.
func line(t testing.TB, layout signal.Layout, name string) (signal.Line, uint32) {
	l, ok := layout.Line(name)
	require.True(t, ok, name)
	return l, 1 << (2 + l)
}

// written is a bank that keeps when the lines of mask were written, and whose writes take
// a while now and then.
type written struct {
	Memory
	mask     uint32
	turns    *turning // of the bench; nil: it is not open yet
	every    int      // of so many writes one takes length; 0: none does
	length   signal.Time
	writes   int
	began    []signal.Time
	ended    []signal.Time
	recorded int
}

func (w *written) Set(mask uint32)   { w.write(mask, w.Memory.Set) }
func (w *written) Clear(mask uint32) { w.write(mask, w.Memory.Clear) }

func (w *written) write(mask uint32, write func(uint32)) {
	if w.turns == nil { // the idle levels
		write(mask)
		return
	}
	began := w.turns.at
	if w.writes++; w.every > 0 && w.writes%w.every == 0 {
		w.turns.at += w.length
	}
	write(mask)
	if n := w.recorded; mask&w.mask != 0 && n < len(w.began) {
		w.began[n], w.ended[n] = began, w.turns.at
		w.recorded++
	}
}

// played plays 400 ms at 5 m/s on a bench over bank.
func played(t testing.TB, w rig.Wiring, s Settings) (*rig.Rig, *trace.Trace) {
	s.Layout, s.Time = w.Layout(), turnsOfATest()
	if s.Pins == nil {
		s.Pins = pinsOf(s.Layout)
	}
	bench, err := New(s)
	require.NoError(t, err)
	t.Cleanup(func() { assert.NoError(t, bench.Close()) })
	if slow, ok := s.PinBank.(*written); ok {
		slow.turns = bench.on.turns
	}
	r, err := rig.New(bench, rig.Settings{Wiring: w, Car: car(), Seed: 1})
	require.NoError(t, err)
	var tr trace.Trace
	v := stimulus.Values{Speed: 5, Steer: 0.1, YawRate: 1, Throttle: 0.4, Gain: 0.5}
	require.NoError(t, r.Play(context.Background(), stimulus.Held(v, 400*ms), &tr))
	return r, &tr
}

// TestLatePlayingIsSeen holds what the rig says of its own pulses against when
// the bank was written, which it does not know of.
func TestLatePlayingIsSeen(t *testing.T) {
	w := wiring(signal.PortSpec{Name: "yaw_serial", Baud: 115200})
	_, bit := line(t, w.Layout(), "throttle")
	bank := &written{mask: bit, every: 397, length: 3 * ms, began: make([]signal.Time, 5000), ended: make([]signal.Time, 5000)}
	r, tr := played(t, w, Settings{PinBank: bank})
	pulses, late := 0, 0
	for plays := 0; ; plays++ {
		n := bank.recorded
		for _, s := range tr.Sent[trace.SentThrottle] {
			if s.EndUncertainty == 0 {
				continue // the last may not have been seen yet
			}
			found := false
			for i := 1; i < n; i += 2 { // the falling ones
				found = found || s.End <= bank.ended[i] && s.End+s.EndUncertainty >= bank.began[i]
			}
			assert.True(t, found, "no pulse ended from %v to %v", s.End, s.End+s.EndUncertainty)
			pulses++
			if s.Late > rig.LateFloor {
				late++
			}
		}
		if pulses >= 10 && late > 0 || plays == 30 {
			break
		}
		require.NoError(t, r.Play(context.Background(), stimulus.Held(stimulus.Values{Speed: 5, Throttle: 0.4}, 400*ms), tr))
	}
	assert.GreaterOrEqual(t, pulses, 10)
	assert.NotZero(t, late, "stalls hit pulses")
	timing := r.Timing()
	assert.Greater(t, timing.Late, ms, "what was due in a stall comes up to 3 ms late")
	assert.NotZero(t, timing.LateCount)
	require.NotEmpty(t, tr.Delays)
	for _, d := range tr.Delays {
		assert.Greater(t, d.Worst, rig.LateFloor)
		assert.LessOrEqual(t, d.Worst, d.To-d.From)
	}
}

func TestDrivenEdgesAreReadBack(t *testing.T) {
	w := wiring(signal.PortSpec{Name: "yaw_serial", Baud: 9600})
	layout := w.Layout()
	bench, err := New(Settings{Settings: hostlines.Settings{Layout: layout, Pins: pinsOf(layout)}, PinBank: &Memory{}, LongestGap: signal.Second, Time: turnsOfATest()})
	require.NoError(t, err)
	defer bench.Close()
	steer, _ := line(t, layout, "steer")
	encoder, _ := line(t, layout, "front_left_a")
	port, _ := line(t, layout, "yaw_serial")
	motor, _ := line(t, layout, "motor_front_left")
	for l, want := range map[signal.Line]bool{steer: true, port: true, encoder: false, motor: false} {
		assert.Equal(t, want, bench.Samples(l), layout.Lines[l].Name)
	}
	assert.False(t, bench.Exact())
	back, err := bench.ReadBack(nil)
	require.NoError(t, err)
	require.Empty(t, back)

	start := bench.Now() + 20*ms
	edges := []signal.Edge{
		{At: start, Line: steer, Level: true}, {At: start + ms, Line: encoder, Level: true},
		{At: start + 2*ms, Line: steer}, {At: start + 3*ms, Line: encoder},
	}
	require.NoError(t, bench.Drive(edges, start+4*ms))
	uart, err := wire.NewUART(layout.Ports[0])
	require.NoError(t, err)
	sent, end := uart.Append(nil, start+5*ms, []byte{0x5A, 0x01})
	got, err := bench.Send(0, start+5*ms, []byte{0x5A, 0x01})
	require.NoError(t, err)
	assert.Equal(t, end, got)
	require.NoError(t, bench.Wait(end+ms))
	back, err = bench.ReadBack(back[:0])
	require.NoError(t, err)
	want := append([]signal.Edge{edges[0], edges[2]}, sent...)
	require.Len(t, back, len(want))
	for i, e := range back {
		assert.Equal(t, want[i].Line, e.Line)
		assert.Equal(t, want[i].Level, e.Level)
		assert.NotZero(t, e.Uncertainty)
		assert.GreaterOrEqual(t, e.At, want[i].At, "not before its time")
	}
	captured, err := bench.Captured(nil)
	require.NoError(t, err)
	assert.Empty(t, captured)
	require.NoError(t, bench.Close())
	_, err = bench.ReadBack(nil)
	assert.Error(t, err)
}

// stepped returns a bench whose loop takes no turns, to be stepped by hand, with
// driven lines read back.
func stepped(t testing.TB, port signal.PortSpec) (*Bench, *Memory) {
	w := wiring(port)
	m := &Memory{}
	bench, err := New(Settings{Settings: hostlines.Settings{Layout: w.Layout(), Pins: pinsOf(w.Layout())}, PinBank: m, Time: turnsOfATest()})
	require.NoError(t, err)
	_, err = bench.ReadBack(nil)
	require.NoError(t, err)
	bench.on.loop.sampled.Store(math.MaxInt64)
	_, err = bench.ReadBack(nil)
	require.NoError(t, err)
	_, err = bench.Captured(nil)
	require.NoError(t, err)
	return bench, m
}

func TestAGapIsReportedOnDrivenLinesToo(t *testing.T) {
	bench, m := stepped(t, signal.PortSpec{Name: "yaw_serial", Baud: 115200})
	s := &bench.on.loop.sampler
	_, steer := line(t, bench.Layout(), "steer")
	now := s.ended + ms
	s.step(m.Level(), now-us, now-us)
	s.step(m.Level(), now, now)
	bench.ReadBack(nil)
	bench.Captured(nil)
	s.step(m.Level(), now+4*us, now+4*us)
	back, _ := bench.ReadBack(nil)
	require.Empty(t, back, "it looked often enough")
	s.step(m.Level(), now+104*us, now+104*us)
	back, _ = bench.ReadBack(nil)
	require.Len(t, back, 1, "a bit may have passed on the port, and no pulse")
	assert.Equal(t, "yaw_serial", bench.Layout().Lines[back[0].Line].Name)
	s.step(m.Level(), now+105*us, now+105*us)
	s.step(m.Level(), now+106*us, now+106*us)
	bench.ReadBack(nil)
	bench.Captured(nil)
	now += 302 * us
	m.Set(steer)
	s.step(m.Level(), now+104*us, now+104*us)
	back, _ = bench.ReadBack(nil)
	names := map[string]bool{}
	for _, e := range back {
		names[bench.Layout().Lines[e.Line].Name] = e.Level
		assert.Equal(t, now+104*us, e.At)
		assert.EqualValues(t, 300*us, e.Uncertainty, "since the start of the read before")
	}
	assert.Equal(t, map[string]bool{"steer": true, "throttle": false, "gain": false, "yaw_serial": true}, names)
	captured, _ := bench.Captured(nil)
	assert.Len(t, captured, 4, "the motors")
}

func TestTheLogReportsEncodersThatAreLate(t *testing.T) {
	bench, m := stepped(t, signal.PortSpec{Name: "yaw_serial", Baud: 115200})
	p := &bench.on.loop.output
	a, bit := line(t, bench.Layout(), "rear_right_a")
	b, _ := line(t, bench.Layout(), "front_left_b")
	steer, _ := line(t, bench.Layout(), "steer")
	t0 := bench.on.clock.now() + ms
	require.NoError(t, bench.Drive([]signal.Edge{
		{At: t0, Line: a, Level: true}, {At: t0 + 10*us, Line: b, Level: true}, {At: t0 + 20*us, Line: steer, Level: true},
		{At: t0 + 500*us, Line: a}, {At: t0 + 900*us, Line: a, Level: true},
	}, t0+ms))
	p.step(m, t0+40*us) // a, 40 us late
	p.step(m, t0+41*us) // b, 31 us late
	p.step(m, t0+42*us) // steer: it is read back
	assert.Empty(t, bench.LateStretches(nil), "there may be more to come")
	p.step(m, t0+505*us) // a, as good as on time
	p.step(m, t0+1200*us)
	p.step(m, t0+1300*us)
	require.NotZero(t, m.Level()&bit)
	assert.Equal(t, []signal.LateStretch{
		{From: t0, To: t0 + 41*us, Worst: 40 * us, Count: 2},
		{From: t0 + 900*us, To: t0 + 1200*us, Worst: 300 * us, Count: 1},
	}, bench.LateStretches(nil))
	assert.Empty(t, bench.LateStretches(nil), "each is reported once")
}

// Nobody takes the log: what does not fit goes into the last stretch.
func TestAFullLogLosesNothing(t *testing.T) {
	o := lateLog{reported: realtime.NewRing[signal.LateStretch](2)}
	for i := signal.Time(1); i <= 10; i++ {
		o.add(i*ms, i*ms+i*20*us)
		o.tell()
	}
	assert.EqualValues(t, 4, o.reported.Tail.Load())
	assert.Equal(t, signal.LateStretch{From: 5 * ms, To: 10*ms + 200*us, Worst: 200 * us, Count: 6}, o.open)
}

func TestReadingBackAllocatesNothing(t *testing.T) {
	bench, m := stepped(t, signal.PortSpec{Name: "yaw_serial", Baud: 115200})
	s, p := &bench.on.loop.sampler, &bench.on.loop.output
	steer, _ := line(t, bench.Layout(), "steer")
	a, _ := line(t, bench.Layout(), "front_left_a")
	edges := make([]signal.Edge, 100)
	taken, late := make([]signal.Edge, 0, 4000), make([]signal.LateStretch, 0, 400)
	level, now := false, signal.Time(0)
	assert.Zero(t, testing.AllocsPerRun(100, func() {
		for i := range edges {
			level = level != (i&1 == 0)
			edges[i] = signal.Edge{At: now + signal.Time(i), Line: []signal.Line{steer, a}[i&1], Level: level}
		}
		require.NoError(t, bench.Drive(edges, now+100))
		for !bench.Queues[0].Empty() {
			now += 20 * us
			s.step(m.Level(), now, now)
			p.step(m, now)
		}
		var err error
		taken, err = bench.ReadBack(taken[:0])
		require.NoError(t, err)
		if len(taken) == 0 {
			t.Error("nothing was read back")
		}
		late = bench.LateStretches(late[:0])
		taken, err = bench.Captured(taken[:0])
		require.NoError(t, err)
	}))
}

// portWire plays the part of a port's wire, as far as a thread that the system may
// stop can: for each message that comes out of the terminal there is a start bit on the
// pin. It keeps when it began, at the earliest and at the latest.
type portWire struct {
	far  *serialtest.Far
	bank *Memory
	bit  uint32
	now  func() signal.Time

	earliest, latest []signal.Time
	recorded         atomic.Int32
}

func (w *portWire) run() {
	buffer := make([]byte, 1<<12)
	for {
		got, err := w.far.Read(buffer)
		if err != nil {
			return
		}
		for _, b := range buffer[:got] {
			n := w.recorded.Load()
			if b != 0xA5 || int(n) == len(w.latest) {
				continue
			}
			w.earliest[n] = w.now()
			w.bank.Clear(w.bit)
			w.latest[n] = w.now()
			w.recorded.Store(n + 1)
			for w.now() < w.latest[n]+80*us {
			}
			w.bank.Set(w.bit)
			for w.now() < w.latest[n]+350*us { // how long the message takes
			}
		}
	}
}

// TestAPortsWireReportsWhenItsDeviceSent holds what the rig says of its messages
// against when the wire changed. On a machine with other work it goes on until enough of them
// were there in time to be read back.
func TestAPortsWireReportsWhenItsDeviceSent(t *testing.T) {
	inRealTime(t)
	f, m := serialtest.Terminal(t), &Memory{}
	w := wiring(signal.PortSpec{Name: "yaw_serial", Baud: 115200})
	layout := w.Layout()
	_, bit := line(t, layout, "yaw_serial")
	m.Set(bit)
	bench, err := New(Settings{Settings: hostlines.Settings{Layout: layout, Pins: pinsOf(layout), Devices: map[string]string{"yaw_serial": f.Device}}, PinBank: m})
	require.NoError(t, err)
	defer bench.Close()
	wire := &portWire{far: f, bank: m, bit: bit, now: bench.on.clock.now, earliest: make([]signal.Time, 2000), latest: make([]signal.Time, 2000)}
	go wire.run()
	r, err := rig.New(bench, rig.Settings{Wiring: w, Car: car(), Seed: 1})
	require.NoError(t, err)
	const slack = 5 * us // two threads' stamps of one moment
	seen, right := 0, 0
	for try := 0; try < 60 && seen < 40; try++ {
		var tr trace.Trace
		require.NoError(t, r.Play(context.Background(), stimulus.Held(stimulus.Values{YawRate: 1}, 300*ms), &tr))
		n := int(wire.recorded.Load())
		for _, s := range tr.Sent[trace.SentYawRate] {
			assert.InDelta(t, 4*10/115200.0*1e9, float64(s.End-s.Start), 2)
			if s.EndUncertainty == 0 {
				continue
			}
			seen++
			for i := range n {
				if s.Start <= wire.latest[i]+slack && s.Start+s.EndUncertainty >= wire.earliest[i]-slack {
					right++
					break
				}
			}
		}
	}
	require.GreaterOrEqual(t, seen, 40)
	assert.Equal(t, seen, right, "a start bit is where it is said to be")
	assert.Greater(t, r.Timing().Late, signal.Time(0), "it takes a while from the writer to the wire")
}

func TestAPortWithoutAPin(t *testing.T) {
	f := serialtest.Terminal(t)
	spec := signal.PortSpec{Name: "yaw_serial", Baud: 115200}
	w := wiring(spec)
	layout := w.Layout()
	l, _ := line(t, layout, "yaw_serial")
	pins := pinsOf(layout)
	pins[l] = hostlines.NoPin
	_, err := New(Settings{Settings: hostlines.Settings{Layout: layout, Pins: pins}, PinBank: &Memory{}})
	assert.Error(t, err, "it has no device either")
	m := &Memory{}
	_, tr := played(t, w, Settings{Settings: hostlines.Settings{Pins: pins, Devices: map[string]string{"yaw_serial": f.Device}}, PinBank: m})
	require.NotEmpty(t, tr.Sent[trace.SentYawRate])
	for _, s := range tr.Sent[trace.SentYawRate] {
		assert.Zero(t, s.EndUncertainty)
		assert.Zero(t, s.Late)
	}
	assert.Zero(t, m.Level()&1, "nothing was written for it")
	c := newClock()
	f.Hear(t, 4*(len(tr.Sent[trace.SentYawRate])-1), c.now) // the last is not due yet
	assert.Equal(t, []byte{0xA5, 0x5A}, f.Data[:2])
}

// An inverter stands between pin and board: the pin is upright, the line is not.
func TestAnInvertedPortsPinIsReportedAsItsLine(t *testing.T) {
	f, m := serialtest.Terminal(t), &Memory{}
	w := wiring(signal.PortSpec{Name: "bus", Baud: 100000, Inverted: true})
	layout := w.Layout()
	l, bit := line(t, layout, "bus")
	m.Set(bit) // at rest
	bench, err := New(Settings{Settings: hostlines.Settings{Layout: layout, Pins: pinsOf(layout), Devices: map[string]string{"bus": f.Device}}, PinBank: m, LongestGap: signal.Second, Time: turnsOfATest()})
	require.NoError(t, err)
	defer bench.Close()
	require.NotZero(t, m.Level()&bit, "the bench leaves the pin to the device")
	_, err = bench.ReadBack(nil)
	require.NoError(t, err)
	m.Clear(bit) // a start bit
	require.NoError(t, bench.Wait(bench.Now()+ms))
	back, err := bench.ReadBack(nil)
	require.NoError(t, err)
	require.Len(t, back, 1)
	assert.Equal(t, l, back[0].Line)
	assert.True(t, back[0].Level, "high, as the board sees it")
	require.NoError(t, bench.Safe())
	require.Zero(t, m.Level()&bit)
}

func TestPortsThatCannotBe(t *testing.T) {
	w := wiring(signal.PortSpec{Name: "yaw_serial", Baud: 115200})
	w.Frames[0].Request, w.Frames[0].Period = []byte{0x52}, 0
	layout := w.Layout()
	_, err := New(Settings{Settings: hostlines.Settings{Layout: layout, Pins: pinsOf(layout)}, PinBank: &Memory{}})
	assert.ErrorContains(t, err, "port yaw_serial answers requests")
	layout = openLoop(t, turnsOfATest()).Bench.Layout()
	_, err = New(Settings{Settings: hostlines.Settings{Layout: layout, Pins: loopPins, Devices: map[string]string{"yaw_serial": "/dev/ttyAMA77"}}, PinBank: &Memory{}})
	assert.ErrorContains(t, err, "/dev/ttyAMA77")
}
