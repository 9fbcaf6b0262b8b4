package rig_test

import (
	"context"
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig"
	"hilrig/rig/signal"
	"hilrig/rig/simulated"
	"hilrig/rig/trace"
	"hilrig/stimulus"
	"hilrig/stimulus/wire"
)

// read decodes the bytes of a port's line.
func (l *listener) read(t testing.TB, port string) []trace.Frame {
	t.Helper()
	for _, p := range l.layout.Ports {
		if p.Name != port {
			continue
		}
		return bytesOn(t, p, l.on(t, port))
	}
	t.Fatalf("no port %s", port)
	return nil
}

// packets cuts bytes where the line rests longer than gap.
func packets(bytes []trace.Frame, gap signal.Time) (out [][]trace.Frame) {
	for i, b := range bytes {
		if i == 0 || b.Start-bytes[i-1].End > gap {
			out = append(out, nil)
		}
		out[len(out)-1] = append(out[len(out)-1], b)
	}
	return out
}

func bytesOf(frames []trace.Frame) (b []byte) {
	for _, f := range frames {
		b = append(b, byte(f.Value))
	}
	return b
}

// onBus is a wiring whose receiver sends on a bus.
func onBus() rig.Wiring {
	w := wiring()
	w.Steer, w.Throttle, w.Gain = wire.Pulse{}, wire.Pulse{}, wire.Pulse{}
	w.Bus = wire.Bus{
		Port: "receiver_bus", Period: 7 * signal.Millisecond,
		Steer:    wire.BusChannel{Number: 1, Low: 172, High: 1811, LowValue: -30 * degree, HighValue: 30 * degree},
		Throttle: wire.BusChannel{Number: 2, Low: 172, High: 1811, HighValue: 1},
		Gain:     wire.BusChannel{Number: 5, Low: 172, High: 1811, HighValue: 1},
	}
	for i := range w.Bus.Rest {
		w.Bus.Rest[i] = 992
	}
	return w
}

// channels takes a bus frame apart, written from its description.
func channels(t testing.TB, b []byte) (c [16]int) {
	require.Len(t, b, 25)
	require.Equal(t, byte(0x0F), b[0])
	require.Equal(t, byte(0), b[24])
	for i := range c {
		for k := range 11 {
			bit := i*11 + k
			c[i] |= int(b[1+bit/8]>>(bit%8)&1) << k
		}
	}
	return c
}

func TestTheReceiverBusReadsBack(t *testing.T) {
	w := onBus()
	layout := w.Layout()
	assert.Equal(t, signal.LineSpec{Name: "receiver_bus", Role: signal.SerialData}, layout.Lines[0], "inverted: it rests low")
	assert.Equal(t, "front_left_a", layout.Lines[1].Name, "there are no pulses")
	r, l := listen(t, w)
	p := stimulus.Held(stimulus.Values{Steer: 10 * degree, Throttle: 0.4, Gain: 0.7}, 500*signal.Millisecond)
	tr := heard(t, r, p)

	sent := tr.Sent[trace.SentThrottle]
	require.InDelta(t, 71, len(sent), 1)
	require.Len(t, tr.Sent[trace.SentSteer], len(sent))
	require.Len(t, tr.Sent[trace.SentGain], len(sent))
	frames := packets(l.read(t, "receiver_bus"), signal.Millisecond)
	for i, s := range sent {
		f := frames[i]
		assert.Equal(t, s.Start, f[0].Start)
		assert.Equal(t, s.End, f[24].End)
		assert.Equal(t, 3*signal.Millisecond, s.End-s.Start, "25 bytes of 12 bits at 100 kbaud")
		c := channels(t, bytesOf(f))
		// By hand: 172 + 1639 x 40/60 = 1264.7; 172 + 1639 x 0.4 = 827.6; 172 + 1639 x 0.7 = 1319.3.
		assert.Equal(t, [16]int{1265, 828, 992, 992, 1319, 992, 992, 992, 992, 992, 992, 992, 992, 992, 992, 992}, c)
		assert.InDelta(t, (828-172)/1639.0, s.Value, 1e-12, "as encoded, not as asked")
		assert.InDelta(t, (1265-172)/1639.0*60*degree-30*degree, tr.Sent[trace.SentSteer][i].Value, 1e-12)
	}
}

func TestFaultsOnTheBus(t *testing.T) {
	for _, row := range []struct {
		name  string
		fault stimulus.Fault
		check func(t *testing.T, in []float64)
	}{
		{"lost", stimulus.Fault{Kind: stimulus.Lost, Wire: "throttle"}, func(t *testing.T, in []float64) { assert.Empty(t, in, "the whole bus goes") }},
		{"lost by its port", stimulus.Fault{Kind: stimulus.Lost, Wire: "receiver_bus"}, func(t *testing.T, in []float64) { assert.Empty(t, in) }},
		{"reversed", stimulus.Fault{Kind: stimulus.Reversed, Wire: "throttle"}, func(t *testing.T, in []float64) { assert.InDelta(t, 0.6, in[5], 1e-3) }},
		{"swapped", stimulus.Fault{Kind: stimulus.Swapped, Wire: "throttle", With: "gain"}, func(t *testing.T, in []float64) { assert.InDelta(t, 0.3, in[5], 1e-3) }},
		{"spike", stimulus.Fault{Kind: stimulus.Spike, Wire: "throttle", By: 0.2, Frames: 2}, func(t *testing.T, in []float64) {
			n := 0
			for _, v := range in {
				if math.Abs(v-0.6) < 1e-3 {
					n++
				}
			}
			assert.Equal(t, 2, n)
		}},
	} {
		t.Run(row.name, func(t *testing.T) {
			r, _ := listen(t, onBus())
			tr := heard(t, r, driven(row.fault))
			var s seen
			for _, one := range tr.Sent[trace.SentThrottle] {
				if at := one.Start - tr.Start; at < faultTo || at > faultTo+5*signal.Millisecond { // the tick's value may be the last
					s.add(at, one.Value)
				}
			}
			row.check(t, s.in)
			require.Greater(t, len(s.after), 20)
			for _, v := range append(s.before, s.after...) {
				assert.InDelta(t, 0.4, v, 1e-3)
			}
		})
	}
	r, _ := listen(t, onBus())
	p := driven(stimulus.Fault{Kind: stimulus.WrongChecksum, Wire: "receiver_bus"})
	assert.ErrorContains(t, r.Play(context.Background(), p, nil), "carries no checksum")
}

// The failsafe flag is bit 3 of the byte before the last (the layout as public decoders have it,
// from memory); the channels stay as they are, and the trace knows of the frames.
func TestTheFailsafeFlagOnTheBus(t *testing.T) {
	for _, on := range []string{"throttle", "receiver_bus"} {
		r, l := listen(t, onBus())
		tr := heard(t, r, driven(stimulus.Fault{Kind: stimulus.FailsafeFlag, Wire: on}))
		n := map[string]int{}
		for _, p := range packets(l.read(t, "receiver_bus"), signal.Millisecond) {
			if len(p) < 25 || p[0].Start < tr.Start {
				continue
			}
			at, flags := p[0].Start-tr.Start, byte(p[23].Value)
			flagged := at >= faultFrom && at < faultTo
			assert.Equal(t, flagged, flags == 0x08, "%v: % X", at, flags)
			assert.True(t, flagged || flags == 0)
			n[on]++
		}
		assert.Greater(t, n[on], 40)
		for _, one := range tr.Sent[trace.SentThrottle] {
			at := one.Start - tr.Start
			assert.Equal(t, at >= faultFrom && at < faultTo, one.Bad)
			assert.InDelta(t, 0.4, one.Value, 1e-3)
		}
	}
}

// Three messages share a slow port and get in each other's way: each is whole,
// none overtakes, and the trace says when each really was on the wire.
func TestMessagesQueueOnTheirPort(t *testing.T) {
	w := wiring()
	w.Ports[0].Baud = 57600
	w.Frames = append(w.Frames,
		wire.Frame{Port: "yaw_serial", Period: 20 * signal.Millisecond, Fields: []wire.Field{
			{Kind: wire.Constant, Bytes: []byte("0123456789abcdefghijklmnopqrstuvwxyz")}, // 6.25 ms
			{Kind: wire.Sequence, Size: 1},
		}},
		wire.Frame{Port: "yaw_serial", Period: 100 * signal.Millisecond, Sentence: wire.Sentence{Kind: wire.VTG}, Stuffing: wire.COBS},
	)
	r, l := listen(t, w)
	tr := heard(t, r, stimulus.Held(stimulus.Values{YawRate: 0.7}, signal.Second))
	line := l.read(t, "yaw_serial")
	text := bytesOf(line)
	starts := map[signal.Time]int{}
	for i, b := range line {
		starts[b.Start] = i
	}
	sent := tr.Sent[trace.SentYawRate]
	require.InDelta(t, 200, len(sent), 2)
	late := 0
	for i, s := range sent {
		at, ok := starts[s.Start]
		require.True(t, ok, "frame %d starts at %v on the wire", i, s.Start)
		f := text[at : at+6]
		require.Equal(t, []byte{0xA5, 0x5A}, f[:2])
		require.Equal(t, crc8(f[2:5]), f[5])
		require.InDelta(t, s.Value, float64(int16(uint16(f[3])<<8|uint16(f[4])))/16*degree, 1e-9)
		require.Equal(t, s.End, line[at+5].End)
		if i > 0 {
			require.GreaterOrEqual(t, s.Start, sent[i-1].End)
			if (s.Start-sent[i-1].Start)%(5*signal.Millisecond) != 0 {
				late++
			}
		}
	}
	assert.Greater(t, late, 20, "some had to wait")
	count := 0
	for i := range text {
		if i+36 < len(text) && string(text[i:i+36]) == "0123456789abcdefghijklmnopqrstuvwxyz" {
			assert.Equal(t, byte(count), text[i+36])
			count++
		}
	}
	assert.GreaterOrEqual(t, count, 50)
}

// However long a tick, the port gets its frames in order of their beginnings.
func TestMessagesAreSentInOrder(t *testing.T) {
	w := wiring()
	w.Tick = 10 * signal.Millisecond
	w.Frames = append(w.Frames, wire.Frame{Port: "yaw_serial", Period: 7 * signal.Millisecond, Fields: []wire.Field{{Kind: wire.Sequence, Size: 1}}})
	bench, err := simulated.New(simulated.Settings{Layout: w.Layout(), Board: &listener{}})
	require.NoError(t, err)
	tb := &tapped{Bench: bench}
	r, err := rig.New(tb, rig.Settings{Wiring: w, Car: car(), Seed: 1})
	require.NoError(t, err)
	heard(t, r, stimulus.Held(stimulus.Values{}, signal.Second))
	assert.Greater(t, len(tb.sent), 300)
	assert.True(t, slices.IsSorted(tb.sent))
}

// asker is a board that sends a request every few milliseconds.
type asker struct {
	listener
	every signal.Time
	ask   []byte
	next  signal.Time
	uart  wire.UART
	queue []signal.Edge
}

func (a *asker) Run(in []signal.Edge, until signal.Time, out []signal.Edge) ([]signal.Edge, error) {
	a.edges = append(a.edges, in...)
	for a.next <= until {
		a.queue, _ = a.uart.Append(a.queue, a.next, a.ask)
		a.next += a.every
	}
	n := 0
	for n < len(a.queue) && a.queue[n].At <= until {
		n++
	}
	out = append(out, a.queue[:n]...)
	a.queue = a.queue[n:]
	return out, nil
}

// asked is a wiring with a sensor that answers requests.
func asked() rig.Wiring {
	w := wiring()
	w.Ports = append(w.Ports, signal.PortSpec{Name: "imu_serial", Baud: 230400})
	w.Frames[0].Port = "imu_serial"
	w.Frames[0].Period = 0
	w.Frames[0].Request, w.Frames[0].Delay = []byte{0x3F, 0xFF}, 150*signal.Microsecond
	w.Ports = w.Ports[1:]
	return w
}

func ask(t *testing.T, w rig.Wiring, request []byte) (*rig.Rig, *asker) {
	a := &asker{listener: listener{layout: w.Layout()}, every: 3700 * signal.Microsecond, ask: request, next: 1234567}
	line, ok := a.layout.Line("imu_serial_request")
	require.True(t, ok)
	a.uart = wire.UART{Baud: 230400, Line: line}
	repliers, err := w.Repliers(3)
	require.NoError(t, err)
	require.Len(t, repliers, 1)
	bench, err := simulated.New(simulated.Settings{Layout: a.layout, Board: a, Responders: []simulated.Responding{
		{Responder: repliers[0], Lines: []signal.Line{line}, Latency: repliers[0].Latency()},
	}})
	require.NoError(t, err)
	t.Cleanup(func() { assert.NoError(t, bench.Close()) })
	r, err := rig.New(bench, rig.Settings{Wiring: w, Car: car(), Seed: 3, Repliers: repliers})
	require.NoError(t, err)
	return r, a
}

// Each request is answered once, the declared delay after its last stop bit,
// with the value of that moment.
func TestRequestsAreAnswered(t *testing.T) {
	r, a := ask(t, asked(), []byte{0x00, 0x3F, 0xFF})
	p := stimulus.Held(stimulus.Values{YawRate: 0.25}, 600*signal.Millisecond)
	p.YawRate.Hold(300*signal.Millisecond, -0.5)
	tr := heard(t, r, p)
	sent := tr.Sent[trace.SentYawRate]
	require.InDelta(t, 600/3.7, len(sent), 2)
	replies := packets(a.read(t, "imu_serial"), 100*signal.Microsecond)
	request := signal.Time(math.Round(30 * 1e9 / 230400)) // three bytes of ten bits
	n := 0
	for _, f := range replies {
		if f[0].Start < tr.Start || n == len(sent) {
			continue
		}
		s := sent[n]
		n++
		require.Len(t, f, 6)
		require.Equal(t, s.Start, f[0].Start)
		require.InDelta(t, 0, float64(s.End-f[5].End), 2)
		since := (s.Start - 1234567) % a.every
		require.InDelta(t, float64(request+150*signal.Microsecond), float64(since), 2)
		want := 0.25
		if s.Start >= tr.Start+300*signal.Millisecond {
			want = -0.5
		}
		require.InDelta(t, want, s.Value, 8*degree/16, "with the sensor's noise")
		b := bytesOf(f)
		require.InDelta(t, s.Value, float64(int16(uint16(b[3])<<8|uint16(b[4])))/16*degree, 1e-9)
	}
	assert.Equal(t, len(sent), n)
}

func TestOnlyTheRequestIsAnswered(t *testing.T) {
	r, a := ask(t, asked(), []byte{0x3F, 0xFE})
	tr := heard(t, r, stimulus.Held(stimulus.Values{}, 100*signal.Millisecond))
	assert.Empty(t, tr.Sent[trace.SentYawRate])
	assert.Empty(t, a.on(t, "imu_serial"))
}

func TestFaultsOnAnsweredRequests(t *testing.T) {
	for _, kind := range []stimulus.FaultKind{stimulus.Lost, stimulus.Stuck, stimulus.WrongChecksum} {
		t.Run(kind.String(), func(t *testing.T) {
			r, _ := ask(t, asked(), []byte{0x3F, 0xFF})
			tr := heard(t, r, driven(stimulus.Fault{Kind: kind, Wire: "imu_serial"}))
			var in []trace.Sent
			values := map[float64]bool{}
			for _, s := range tr.Sent[trace.SentYawRate] {
				if at := s.Start - tr.Start; at >= faultFrom && at < faultTo {
					in = append(in, s)
					values[s.Value] = true
				} else {
					assert.False(t, s.Bad)
				}
			}
			switch kind {
			case stimulus.Lost:
				assert.Empty(t, in)
			case stimulus.Stuck:
				assert.Greater(t, len(in), 50)
				assert.Len(t, values, 1)
			default:
				assert.Greater(t, len(in), 50)
				for _, s := range in {
					assert.True(t, s.Bad)
				}
			}
		})
	}
}

func TestWiringErrorsOfPorts(t *testing.T) {
	w := asked()
	w.Frames = append(w.Frames, wire.Frame{Port: "imu_serial", Period: signal.Second, Fields: []wire.Field{{Kind: wire.Constant, Bytes: []byte{1}}}})
	_, err := w.Repliers(1)
	assert.ErrorContains(t, err, "port imu_serial answers requests, and frame 2 has none")
	w = asked()
	w.Frames = append(w.Frames, w.Frames[0])
	_, err = w.Repliers(1)
	assert.ErrorContains(t, err, "the requests 3F FF and 3F FF on imu_serial cannot be told apart")

	w = asked()
	bench, err := simulated.New(simulated.Settings{Layout: w.Layout(), Board: &listener{}})
	require.NoError(t, err)
	_, err = rig.New(bench, rig.Settings{Wiring: w, Car: car()})
	assert.ErrorContains(t, err, "nothing answers them")

	w = onBus()
	w.Bus.Gain.Number = 0
	bench, err = simulated.New(simulated.Settings{Layout: w.Layout(), Board: &listener{}})
	require.NoError(t, err)
	_, err = rig.New(bench, rig.Settings{Wiring: w, Car: car()})
	assert.ErrorContains(t, err, "gain is on no channel")
}

// The tick path with a bus, several messages and a sensor that is asked.
func TestPortsAllocateNothing(t *testing.T) {
	w := asked()
	bus := onBus()
	w.Bus = bus.Bus
	w.Ports = append(w.Ports, signal.PortSpec{Name: "gps", Baud: 38400})
	w.Frames = append(w.Frames,
		wire.Frame{Port: "gps", Period: 100 * signal.Millisecond, Sentence: wire.Sentence{Kind: wire.RMC}},
		wire.Frame{Port: "gps", Period: 10 * signal.Millisecond, Stuffing: wire.SLIP, Fields: []wire.Field{{Kind: wire.Float32, Channel: "speed", Noise: 0.1}}})
	r, a := ask(t, w, []byte{0x3F, 0xFF})
	p := driven(stimulus.Fault{Kind: stimulus.Stuck, Wire: "gps"})
	var tr trace.Trace
	require.NoError(t, r.Play(context.Background(), p, &tr))
	a.edges = make([]signal.Edge, 0, 200000)
	a.queue = make([]signal.Edge, 0, 1000)
	p.Length = signal.Millisecond
	tr.Sent = [trace.SentTos][]trace.Sent{}
	for i := range tr.Sent {
		tr.Sent[i] = make([]trace.Sent, 0, 1000)
	}
	allocs := testing.AllocsPerRun(200, func() {
		_ = r.Play(context.Background(), p, &tr)
	})
	assert.LessOrEqual(t, allocs, 0.5, "the board of this test has to grow its queue now and then")
}
