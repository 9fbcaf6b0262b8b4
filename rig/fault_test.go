package rig_test

import (
	"context"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig"
	"hilrig/rig/board"
	"hilrig/rig/signal"
	"hilrig/rig/simulated"
	"hilrig/rig/trace"
	"hilrig/stimulus"
	"hilrig/stimulus/wire"
)

// tapped is a bench that keeps what is handed to it.
type tapped struct {
	*simulated.Bench
	edges []signal.Edge
	bytes [][]byte
	sent  []signal.Time
}

func (b *tapped) Drive(edges []signal.Edge, until signal.Time) error {
	b.edges = append(b.edges, edges...)
	return b.Bench.Drive(edges, until)
}

func (b *tapped) Send(p signal.Port, at signal.Time, data []byte) (signal.Time, error) {
	b.bytes = append(b.bytes, append([]byte(nil), data...))
	b.sent = append(b.sent, at)
	return b.Bench.Send(p, at, data)
}

// tap opens a rig on a bench that keeps what is handed to it. Nothing has been
// kept yet when it returns.
func tap(t *testing.T) (*rig.Rig, *tapped) { return tapOn(t, wiring()) }

// tapOn is tap with that wiring.
func tapOn(t *testing.T, w rig.Wiring) (*rig.Rig, *tapped) {
	layout := w.Layout()
	b, err := board.NewBuiltIn(board.Bramble(), layout, 1)
	require.NoError(t, err)
	bench, err := simulated.New(simulated.Settings{Layout: layout, Board: b})
	require.NoError(t, err)
	t.Cleanup(func() { assert.NoError(t, bench.Close()) })
	tb := &tapped{Bench: bench}
	r, err := rig.New(tb, rig.Settings{Wiring: w, Car: car(), Seed: 1})
	require.NoError(t, err)
	return r, tb
}

// wire is the fault's time in every test below.
const faultFrom, faultTo = 200 * signal.Millisecond, 400 * signal.Millisecond

// driven is a program of 600 ms with one fault from 200 to 400 ms.
func driven(f stimulus.Fault) *stimulus.Program {
	p := stimulus.Held(stimulus.Values{Speed: 4, YawRate: 0.5, Steer: 0.1, Throttle: 0.4, Gain: 0.3}, 600*signal.Millisecond)
	f.From, f.To = faultFrom, faultTo
	p.Faults = []stimulus.Fault{f}
	return p
}

// seen is what a wire carried before, in and after the fault.
type seen struct{ before, in, after []float64 }

func (s *seen) add(at signal.Time, v float64) {
	switch {
	case at < faultFrom:
		s.before = append(s.before, v)
	case at < faultTo+5*signal.Millisecond && at >= faultFrom+signal.Millisecond:
		s.in = append(s.in, v)
	case at >= faultTo+20*signal.Millisecond:
		s.after = append(s.after, v)
	}
}

// pulses reads the widths of one line's pulses, in us, by when they rose.
func (b *tapped) pulses(t *testing.T, name string, start signal.Time) (s seen) {
	line, ok := b.Layout().Line(name)
	require.True(t, ok)
	var rise signal.Time
	for _, e := range b.edges {
		if e.Line != line {
			continue
		}
		if e.Level {
			rise = e.At
		} else {
			s.add(rise-start, math.Round(float64(e.At-rise)/1000))
		}
	}
	return s
}

// yaw reads the yaw rates of the frames, rad/s, NaN where the check is wrong.
func (b *tapped) yaw(start signal.Time) (s seen) {
	for i, f := range b.bytes {
		v := float64(int16(uint16(f[3])<<8|uint16(f[4]))) / 16 * degree
		if crc8(f[2:5]) != f[5] {
			v = math.NaN()
		}
		s.add(b.sent[i]-start, v)
	}
	return s
}

// crc8 is CRC-8 with polynomial 0x07, bit by bit.
func crc8(data []byte) (crc byte) {
	for _, d := range data {
		crc ^= d
		for range 8 {
			if crc&0x80 != 0 {
				crc = crc<<1 ^ 0x07
			} else {
				crc <<= 1
			}
		}
	}
	return crc
}

// counts reads an encoder's counts in each of the three times, and how many
// transitions were illegal.
func (b *tapped) counts(t *testing.T, wheel string, start signal.Time) (before, in, after, illegal int64) {
	la, _ := b.Layout().Line(wheel + "_a")
	lb, _ := b.Layout().Line(wheel + "_b")
	c := counter{a: la, b: lb}
	marks := [2]signal.Time{start + faultFrom, start + faultTo}
	var at [2]int64
	next := 0
	for _, e := range b.edges {
		if e.Line != la && e.Line != lb {
			continue
		}
		for next < 2 && e.At >= marks[next] {
			at[next] = c.count
			next++
		}
		c.edge(e)
	}
	c.settle()
	for ; next < 2; next++ {
		at[next] = c.count
	}
	return at[0], at[1] - at[0], c.count - at[1], c.illegal
}

func play(t *testing.T, f stimulus.Fault) (*tapped, *trace.Trace) {
	r, b := tap(t)
	tr := new(trace.Trace)
	require.NoError(t, r.Play(context.Background(), driven(f), tr))
	return b, tr
}

func TestFaultsOnPulses(t *testing.T) {
	for _, row := range []struct {
		name  string
		fault stimulus.Fault
		wire  string
		in    float64 // us while the fault is on; 0: no pulses
	}{
		{"lost", stimulus.Fault{Kind: stimulus.Lost, Wire: "throttle"}, "throttle", 0},
		{"stuck", stimulus.Fault{Kind: stimulus.Stuck, Wire: "throttle"}, "throttle", 1400},
		{"reversed", stimulus.Fault{Kind: stimulus.Reversed, Wire: "throttle"}, "throttle", 1600},
		{"swapped", stimulus.Fault{Kind: stimulus.Swapped, Wire: "throttle", With: "gain"}, "throttle", 1300},
		{"swapped, the other", stimulus.Fault{Kind: stimulus.Swapped, Wire: "throttle", With: "gain"}, "gain", 1400},
	} {
		t.Run(row.name, func(t *testing.T) {
			b, tr := play(t, row.fault)
			s := b.pulses(t, row.wire, tr.Start)
			normal := map[string]float64{"throttle": 1400, "gain": 1300}[row.wire]
			require.GreaterOrEqual(t, len(s.before), 15)
			require.GreaterOrEqual(t, len(s.after), 15)
			for _, w := range append(s.before, s.after...) {
				assert.Equal(t, normal, w)
			}
			if row.in == 0 {
				assert.Empty(t, s.in)
				return
			}
			require.NotEmpty(t, s.in)
			for _, w := range s.in[:len(s.in)-1] {
				assert.Equal(t, row.in, w)
			}
		})
	}
}

func TestSpikeIsCarriedBySoManyFrames(t *testing.T) {
	b, tr := play(t, stimulus.Fault{Kind: stimulus.Spike, Wire: "throttle", By: 0.3, Frames: 2})
	s := b.pulses(t, "throttle", tr.Start)
	high := 0
	for _, w := range s.in {
		if w == 1700 {
			high++
		}
	}
	assert.Equal(t, 2, high)
	b, tr = play(t, stimulus.Fault{Kind: stimulus.Spike, Wire: "yaw_serial", By: 7, Frames: 1})
	y := b.yaw(tr.Start)
	high = 0
	for _, v := range append(append(y.before, y.in...), y.after...) {
		if v > 5 {
			high++
		}
	}
	assert.Equal(t, 1, high)
}

// So many pulses are as wide as the fault says, and the trace lists them as such that stand for no value.
func TestABadPulseStandsForNothing(t *testing.T) {
	for _, width := range []signal.Time{300 * signal.Microsecond, 2900 * signal.Microsecond} {
		b, tr := play(t, stimulus.Fault{Kind: stimulus.BadPulse, Wire: "throttle", Width: width, Frames: 2})
		s := b.pulses(t, "throttle", tr.Start)
		wide := 0
		for _, w := range append(append(s.before, s.in...), s.after...) {
			if w == float64(width/signal.Microsecond) {
				wide++
			}
		}
		assert.Equal(t, 2, wide)
		bad := 0
		for _, x := range tr.Sent[trace.SentThrottle] {
			if x.Bad {
				bad++
				assert.Equal(t, width, x.End-x.Start)
			}
		}
		assert.Equal(t, 2, bad)
	}
}

func TestFaultsOnSerialFrames(t *testing.T) {
	b, tr := play(t, stimulus.Fault{Kind: stimulus.Lost, Wire: "yaw_serial"})
	s := b.yaw(tr.Start)
	assert.LessOrEqual(t, len(s.in), 1)
	assert.Greater(t, len(s.after), 30)

	b, tr = play(t, stimulus.Fault{Kind: stimulus.Stuck, Wire: "yaw_serial"})
	s = b.yaw(tr.Start)
	assert.Len(t, distinct(s.in), 1, "frozen to the bit")
	assert.Greater(t, len(distinct(s.before)), 2, "noise is always there")
	assert.Greater(t, len(distinct(s.after)), 2)

	b, tr = play(t, stimulus.Fault{Kind: stimulus.WrongChecksum, Wire: "yaw_serial", Every: 2})
	s = b.yaw(tr.Start)
	wrong := 0
	for _, v := range s.in {
		if math.IsNaN(v) {
			wrong++
		}
	}
	assert.InDelta(t, float64(len(s.in))/2, wrong, 1)
	bad := 0
	for _, f := range tr.Sent[trace.SentYawRate] {
		if f.Bad {
			bad++
		}
	}
	assert.Equal(t, 20, bad, "the trace knows")

	b, tr = play(t, stimulus.Fault{Kind: stimulus.Reversed, Wire: "yaw_serial"})
	s = b.yaw(tr.Start)
	assert.InDelta(t, -0.5, mean(s.in[:len(s.in)-1]), 0.005)
	assert.InDelta(t, 0.5, mean(s.after), 0.005)

	b, tr = play(t, stimulus.Fault{Kind: stimulus.Noisy, Wire: "yaw_serial", By: 0.3})
	s = b.yaw(tr.Start)
	assert.Greater(t, spread(s.in), 0.15)
	assert.Less(t, spread(s.before), 0.01)
}

// A counter that stands still says for the fault's time what it said last, and afterwards how
// many frames there were; the yaw rates stay live.
func TestACounterStandsStill(t *testing.T) {
	b, tr := play(t, stimulus.Fault{Kind: stimulus.SequenceStuck, Wire: "yaw_serial"})
	s := b.yaw(tr.Start)
	assert.Greater(t, len(distinct(s.in)), 2, "live values")
	var before byte
	in := map[byte]bool{}
	for i, f := range b.bytes {
		switch at := b.sent[i] - tr.Start; {
		case at < faultFrom:
			before = f[2]
		case at < faultTo:
			in[f[2]] = true
		}
	}
	assert.Equal(t, map[byte]bool{before: true}, in)
	assert.EqualValues(t, byte(len(b.bytes)-1), b.bytes[len(b.bytes)-1][2]-b.bytes[0][2])
	for _, one := range tr.Sent[trace.SentYawRate] {
		assert.False(t, one.Bad)
	}
}

// A message of more than one channel: a fault falls on the one that is named, packed or
// not, and without a name on the first.
func TestFaultFallsOnTheChannelThatIsNamed(t *testing.T) {
	other := wire.Field{Kind: wire.Integer, Size: 2, Signed: true, Channel: "lateral_acceleration", Scale: 0.01}
	yaw := wire.Field{Kind: wire.Integer, Width: 16, Signed: true, Channel: "yaw_rate", Scale: degree / 16}
	for _, row := range []struct {
		name   string
		fields []wire.Field
		of     string
		in     float64 // mean yaw rate while the fault is on, rad/s
	}{
		{"named, packed", []wire.Field{other, {Kind: wire.Bits, Parts: []wire.Field{yaw}}}, "yaw_rate", -0.5},
		{"the other named", []wire.Field{{Kind: wire.Bits, Parts: []wire.Field{yaw}}, other}, "lateral_acceleration", 0.5},
		{"the first", []wire.Field{{Kind: wire.Bits, Parts: []wire.Field{yaw}}, other}, "", -0.5},
		{"the first is another", []wire.Field{other, {Kind: wire.Bits, Parts: []wire.Field{yaw}}}, "", 0.5},
	} {
		t.Run(row.name, func(t *testing.T) {
			w := wiring()
			w.Frames = []wire.Frame{{Port: w.Ports[0].Name, Period: 5 * signal.Millisecond, Fields: row.fields}}
			r, _ := tapOn(t, w)
			var tr trace.Trace
			fault := stimulus.Fault{Kind: stimulus.Reversed, Wire: w.Ports[0].Name, Channel: row.of}
			require.NoError(t, r.Play(context.Background(), driven(fault), &tr))
			var s seen
			for _, f := range tr.Sent[trace.SentYawRate] {
				s.add(f.Start-tr.Start, f.Value)
			}
			require.Greater(t, len(s.in), 30)
			assert.InDelta(t, row.in, mean(s.in[:len(s.in)-1]), 0.01)
			assert.InDelta(t, 0.5, mean(s.after), 0.01)
		})
	}
}

func TestDelayedValueIsThePast(t *testing.T) {
	r, b := tap(t)
	p := driven(stimulus.Fault{Kind: stimulus.Delayed, Wire: "yaw_serial", By: 0.05})
	p.YawRate.RampTo(0, 600*signal.Millisecond, 1.1) // 1 rad/s in a second
	tr := new(trace.Trace)
	require.NoError(t, r.Play(context.Background(), p, tr))
	for i := range b.bytes {
		at := b.sent[i] - tr.Start
		v := float64(int16(uint16(b.bytes[i][3])<<8|uint16(b.bytes[i][4]))) / 16 * degree
		want := 0.5 + at.Seconds()
		if at >= faultFrom && at < faultTo {
			want -= 0.05
		}
		assert.InDelta(t, want, v, 0.008, "frame at %v", at)
	}
}

func TestFaultsOnEncoders(t *testing.T) {
	const perWindow = 4 / 0.054 / (2 * math.Pi) * 1024 * 0.2 // counts in 200 ms, near enough
	for _, row := range []struct {
		name  string
		fault stimulus.Fault
		in    float64
	}{
		{"lost", stimulus.Fault{Kind: stimulus.Lost, Wire: "rear_left"}, 0},
		{"reversed", stimulus.Fault{Kind: stimulus.Reversed, Wire: "rear_left"}, -perWindow},
	} {
		t.Run(row.name, func(t *testing.T) {
			b, tr := play(t, row.fault)
			before, in, after, illegal := b.counts(t, "rear_left", tr.Start)
			assert.Zero(t, illegal)
			assert.InEpsilon(t, perWindow, before, 0.05)
			assert.InDelta(t, row.in, in, 0.05*perWindow)
			assert.InEpsilon(t, perWindow, after, 0.05)
		})
	}
}

func TestSwappedEncodersCarryEachOthersWheel(t *testing.T) {
	b, tr := play(t, stimulus.Fault{Kind: stimulus.Swapped, Wire: "front_left", With: "front_right"})
	leftBefore, leftIn, _, _ := b.counts(t, "front_left", tr.Start)
	rightBefore, rightIn, _, _ := b.counts(t, "front_right", tr.Start)
	require.Less(t, leftBefore, rightBefore, "the inside wheel is slower")
	assert.InDelta(t, rightBefore, leftIn, 2)
	assert.InDelta(t, leftBefore, rightIn, 2)
}

func TestBrokenLineStaysAndCatchesUp(t *testing.T) {
	b, tr := play(t, stimulus.Fault{Kind: stimulus.Stuck, Wire: "rear_left_a"})
	line, _ := b.Layout().Line("rear_left_a")
	other, _ := b.Layout().Line("rear_left_b")
	level, n, others := false, 0, 0
	for _, e := range b.edges {
		in := e.At >= tr.Start+faultFrom && e.At < tr.Start+faultTo
		if in && e.Line == other {
			others++
		}
		if e.Line != line {
			continue
		}
		require.NotEqual(t, level, e.Level, "a level is never repeated, at %v", e.At)
		level = e.Level
		if in {
			n++
		}
	}
	assert.Zero(t, n, "nothing on the broken line")
	assert.Greater(t, others, 500, "its sister goes on")
	_, _, after, illegal := b.counts(t, "rear_left", tr.Start)
	assert.Greater(t, after, int64(2000))
	assert.LessOrEqual(t, illegal, int64(1), "at most where it catches up")
}

func TestWrongFaultsAreRefused(t *testing.T) {
	for _, row := range []struct {
		name  string
		fault stimulus.Fault
		says  string
	}{
		{"unknown wire", stimulus.Fault{Kind: stimulus.Lost, Wire: "stear"}, `no wire "stear"`},
		{"swap of unlike wires", stimulus.Fault{Kind: stimulus.Swapped, Wire: "steer", With: "rear_left"}, "cannot be swapped"},
		{"no checksum", stimulus.Fault{Kind: stimulus.WrongChecksum, Wire: "steer"}, "no checksum"},
		{"a line with a value", stimulus.Fault{Kind: stimulus.Noisy, Wire: "rear_left_a"}, "name the wheel"},
		{"a channel that it does not carry", stimulus.Fault{Kind: stimulus.Spike, Wire: "yaw_serial", Channel: "speed"}, `wire "yaw_serial" carries no speed`},
		{"a bad pulse that has no width", stimulus.Fault{Kind: stimulus.BadPulse, Wire: "steer"}, "a width above 0"},
		{"a bad pulse of a port", stimulus.Fault{Kind: stimulus.BadPulse, Wire: "yaw_serial", Width: 1}, "a receiver's channel that has pulses"},
		{"a channel of no port", stimulus.Fault{Kind: stimulus.Spike, Wire: "steer", Channel: "steer"}, `wire "steer" carries no steer`},
		{"no failsafe flag", stimulus.Fault{Kind: stimulus.FailsafeFlag, Wire: "throttle"}, "no failsafe flag"},
		{"no counter", stimulus.Fault{Kind: stimulus.SequenceStuck, Wire: "throttle"}, "no counter"},
		{"captured line", stimulus.Fault{Kind: stimulus.Lost, Wire: "motor_rear_left"}, "no wire"},
	} {
		t.Run(row.name, func(t *testing.T) {
			r, _ := tap(t)
			assert.ErrorContains(t, r.Play(context.Background(), driven(row.fault), nil), row.says)
		})
	}
}

func TestGridMovesShiftTheFrames(t *testing.T) {
	r, b := tap(t)
	p := driven(stimulus.Fault{Kind: stimulus.Noisy, Wire: "gain"})
	p.Moves = []stimulus.GridMove{{At: 300 * signal.Millisecond, By: 1234567}}
	tr := new(trace.Trace)
	require.NoError(t, r.Play(context.Background(), p, tr))
	odd := 0
	for i := 1; i < len(b.sent); i++ {
		if gap := b.sent[i] - b.sent[i-1]; gap != 5*signal.Millisecond {
			assert.Equal(t, 5*signal.Millisecond+1234567, gap)
			odd++
		}
	}
	assert.Equal(t, 1, odd)
}

func TestFaultsAllocateNothingOnTheTickPath(t *testing.T) {
	r := drive(t, 1)
	p := driven(stimulus.Fault{Kind: stimulus.Stuck, Wire: "rear_left_a"})
	var tr trace.Trace
	run := func() {
		if err := r.Play(context.Background(), p, &tr); err != nil {
			t.Fatal(err)
		}
	}
	for range 5 {
		run()
	}
	assert.Zero(t, testing.AllocsPerRun(5, run))
}

func distinct(x []float64) map[float64]bool {
	m := map[float64]bool{}
	for _, v := range x {
		m[v] = true
	}
	return m
}

func mean(x []float64) float64 {
	sum := 0.0
	for _, v := range x {
		sum += v
	}
	return sum / float64(len(x))
}

func spread(x []float64) float64 {
	m, sum := mean(x), 0.0
	for _, v := range x {
		sum += (v - m) * (v - m)
	}
	return math.Sqrt(sum / float64(len(x)))
}
