package wire_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig/signal"
	"hilrig/stimulus/wire"
)

func replier(t testing.TB) *wire.Replier {
	r, err := wire.NewReplier(
		signal.PortSpec{Name: "imu", Line: 1, Baud: 115200, Asked: true, Input: 2},
		[]wire.Frame{
			{Port: "imu", Request: []byte("!y"), Delay: 50 * signal.Microsecond, Fields: []wire.Field{{Kind: wire.Integer, Size: 1, Channel: "yaw_rate", Scale: 1}}},
			{Port: "imu", Request: []byte("?"), Delay: 20 * signal.Microsecond, Fields: []wire.Field{{Kind: wire.Sequence, Size: 2}}},
		},
		[]wire.Normal{&still{}, &still{}})
	require.NoError(t, err)
	return r
}

func TestReplierErrors(t *testing.T) {
	port := signal.PortSpec{Name: "imu", Baud: 115200, Asked: true}
	good := wire.Frame{Request: []byte{1}, Delay: signal.Millisecond, Fields: []wire.Field{{Kind: wire.Sequence, Size: 1}}}
	for _, row := range []struct {
		name   string
		change func(p *signal.PortSpec, f *wire.Frame)
		want   string
	}{
		{"baud", func(p *signal.PortSpec, _ *wire.Frame) { p.Baud = 1 }, "1 baud"},
		{"not asked", func(p *signal.PortSpec, _ *wire.Frame) { p.Asked = false }, "no line by which it is asked"},
		{"no request", func(_ *signal.PortSpec, f *wire.Frame) { f.Request = nil }, "frame 1 has none"},
		{"long request", func(_ *signal.PortSpec, f *wire.Frame) { f.Request = make([]byte, 65) }, "request of 65 bytes"},
		{"at once", func(_ *signal.PortSpec, f *wire.Frame) { f.Delay = 0 }, "a reply 0 s after its request"},
		{"period", func(_ *signal.PortSpec, f *wire.Frame) { f.Period = 1 }, "leave one of them out"},
	} {
		p, f := port, good
		row.change(&p, &f)
		_, err := wire.NewReplier(p, []wire.Frame{f}, []wire.Normal{&still{}})
		assert.ErrorContains(t, err, row.want, row.name)
	}
	_, err := wire.NewReplier(port, []wire.Frame{good}, nil)
	assert.ErrorContains(t, err, "sources of noise")
}

// A reply under way is finished before the next one begins.
func TestRepliesQueue(t *testing.T) {
	r := replier(t)
	assert.Equal(t, 20*signal.Microsecond, r.Latency())
	ask, err := wire.NewUART(signal.PortSpec{Line: 2, Baud: 115200})
	require.NoError(t, err)
	edges, end := ask.Append(nil, 1000, []byte("??"))
	var out []signal.Edge
	for _, e := range edges {
		out = r.Respond(e, out)
	}
	out = r.Until(end, out)
	sent := r.Sent(1)
	require.Len(t, sent, 2)
	byteTime := 10 * signal.Second / 115200
	assert.InDelta(t, float64(1000+byteTime+20*signal.Microsecond), float64(sent[0].Start), 2)
	assert.Equal(t, sent[0].End, sent[1].Start, "two bytes take longer than the next request")
	assert.Empty(t, r.Sent(1))
	assert.Empty(t, r.Sent(0))
	assert.NotEmpty(t, out)
}

// What is said from a time on is not said before it.
func TestRepliesSayWhatHoldsThen(t *testing.T) {
	r := replier(t)
	ask := wire.UART{Baud: 115200, Line: 2}
	say := func(from signal.Time, v float64) { r.Say(0, wire.Saying{From: from, Values: []float64{v}}) }
	reply := func(at signal.Time) float64 {
		edges, _ := ask.Append(nil, at, []byte("!y"))
		for _, e := range edges {
			r.Respond(e, nil)
		}
		r.Until(at+500*signal.Microsecond, nil)
		sent := r.Sent(0)
		require.Len(t, sent, 1)
		return sent[0].Said[0]
	}
	const ms = signal.Millisecond
	say(0, 5)
	say(2*ms, 9)
	assert.Equal(t, 5.0, reply(1*ms))
	assert.Equal(t, 9.0, reply(2*ms))
	say(4*ms, 20)
	assert.Equal(t, 9.0, reply(3*ms))
	assert.Equal(t, 20.0, reply(5*ms))
}

// Whatever a board puts on the line, the answers alternate, go forward in time and
// never come before they are asked for.
func FuzzReplier(f *testing.F) {
	f.Add([]byte{86, 86, 86, 1, 255, 9, 87, 174})
	ask := wire.UART{Baud: 115200, Line: 2}
	edges, _ := ask.Append(nil, 8680, []byte("!y??"))
	var seed []byte
	at := signal.Time(0)
	for _, e := range edges {
		seed = append(seed, byte((e.At-at)/340))
		at = e.At
	}
	f.Add(seed)
	f.Fuzz(func(t *testing.T, gaps []byte) {
		r := replier(t)
		at, level, last := signal.Time(0), true, signal.Time(-1)
		answer := true
		for i, g := range gaps {
			at += signal.Time(g) * 340
			level = !level
			for _, e := range r.Respond(signal.Edge{At: at, Line: 2, Level: level}, nil) {
				if e.Line != 1 || e.Level == answer || e.At <= last || e.At < at {
					t.Fatalf("edge %v after level %v at %v, asked at %v", e, answer, last, at)
				}
				answer, last = e.Level, e.At
			}
			if i%3 == 0 {
				r.Sent(0)
			}
		}
	})
}

func TestReplierAllocatesNothing(t *testing.T) {
	r := replier(t)
	ask := wire.UART{Baud: 115200, Line: 2}
	var edges, out []signal.Edge
	values, request := []float64{3}, []byte("x!y")
	at := signal.Time(0)
	turn := func() {
		edges, _ = ask.Append(edges[:0], at, request)
		r.Say(0, wire.Saying{From: at, Values: values})
		out = out[:0]
		for _, e := range edges {
			out = r.Respond(e, out)
		}
		at += signal.Millisecond
		out = r.Until(at, out)
		r.Sent(0)
		r.Sent(1)
	}
	turn()
	assert.Zero(t, testing.AllocsPerRun(50, turn))
}
