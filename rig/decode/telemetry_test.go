package decode_test

import (
	"encoding/hex"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"hilrig/rig/decode"
	"hilrig/rig/signal"
	"hilrig/rig/simulated"
	"hilrig/rig/trace"
	"hilrig/stimulus/wire"
)

func telemetry(t require.TestingT, cfg decode.Telemetry) *decode.ESCTelemetry {
	d, err := decode.NewESCTelemetry(cfg)
	require.NoError(t, err)
	d.Reset(0)
	return d
}

// crc07 is the CRC-8 of polynomial 0x07, bit by bit.
func crc07(data []byte) (r byte) {
	for _, b := range data {
		r ^= b
		for range 8 {
			carry := r & 0x80
			r <<= 1
			if carry != 0 {
				r ^= 0x07
			}
		}
	}
	return r
}

func TestTelemetryChecksumOfTheseTests(t *testing.T) {
	for _, row := range []struct {
		source, hex string
		want        byte
	}{
		{"check value of CRC-8/SMBUS, READ crc-catalog", hex.EncodeToString([]byte("123456789")), 0xF4},
		{"CALC", "0102030405", 0xBC}, {"CALC", "DEADBEEF", 0xCA}, {"CALC", "55AA55AA", 0x6F}, {"CALC", "FF", 0xF3},
	} {
		data, err := hex.DecodeString(row.hex)
		require.NoError(t, err)
		assert.Equal(t, row.want, crc07(data), "%s %s", row.source, row.hex)
	}
}

// framed returns nine bytes with their checksum.
func framed(nine ...byte) []byte { return append(nine, crc07(nine)) }

// at115200 is the serial line of the trade.
var at115200 = wire.UART{Baud: 115200, StopBits: 1}

// frames returns the edges of messages sent every period from 1 ms on.
func frames(messages [][]byte, period signal.Time) (edges []signal.Edge) {
	for i, m := range messages {
		edges, _ = at115200.Append(edges, ms+signal.Time(i)*period, m)
	}
	return edges
}

// readTelemetry feeds edges and tells of time tick by tick.
func readTelemetry(d *decode.ESCTelemetry, edges []signal.Edge, until signal.Time) (out decode.TelemetryOutput) {
	for at := ms / 2; at <= until; at += ms / 2 {
		for len(edges) > 0 && edges[0].At <= at {
			d.Edge(edges[0], &out)
			edges = edges[1:]
		}
		d.Until(at, &out)
	}
	return out
}

// By hand: 25 degrees, 0x04D2 = 1234 is 12.34 V, 0x0929 = 2345 is 23.45 A, 0x0159 = 345 mAh, and
// 0x00B4 = 180 is 18000 turns a minute, 300 a second.
func TestTelemetryFrame(t *testing.T) {
	d := telemetry(t, decode.Telemetry{})
	out := readTelemetry(d, frames([][]byte{framed(25, 0x04, 0xD2, 0x09, 0x29, 0x01, 0x59, 0x00, 0xB4)}, ms), 3*ms)
	require.Empty(t, out.Events)
	require.Len(t, out.Frames, 1)
	f := out.Frames[0]
	assert.Equal(t, ms, f.Start)
	assert.InDelta(t, float64(ms)+100.0/115200*1e9, float64(f.At), 20) // each byte is timed by its own start bit
	assert.Equal(t, 25.0, f.Temperature)
	assert.InDelta(t, 12.34, f.Voltage, 1e-12)
	assert.InDelta(t, 23.45, f.Current, 1e-12)
	assert.InDelta(t, 0.345, f.Charge, 1e-12)
	assert.InDelta(t, 300*2*math.Pi, f.ElectricalSpeed, 1e-9)
	assert.Equal(t, decode.TelemetryTally{Frames: 1}, d.Tally())
}

// drawn returns a frame of bytes at random, not all of them zero.
func drawn(t *rapid.T) []byte {
	nine := rapid.SliceOfN(rapid.Byte(), 9, 9).Filter(func(b []byte) bool { return string(b) != string(make([]byte, 9)) }).Draw(t, "bytes")
	return framed(nine...)
}

func TestTelemetryIsReadAsItWasSent(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var messages [][]byte
		for range 5 {
			messages = append(messages, drawn(t))
		}
		pause := signal.Time(rapid.SampledFrom([]int64{0, 1_000, 100_000, 5_000_000}).Draw(t, "pause"))
		edges := frames(messages, at115200.Length(10)+pause)
		d := telemetry(t, decode.Telemetry{})
		out := readTelemetry(d, edges, 60*ms)
		require.Empty(t, out.Events)
		require.Len(t, out.Frames, 5)
		for i, f := range out.Frames {
			m := messages[i]
			require.Equal(t, float64(m[0]), f.Temperature)
			require.InDelta(t, float64(m[1])*2.56+float64(m[2])/100, f.Voltage, 1e-9)
			require.InDelta(t, float64(m[3])*2.56+float64(m[4])/100, f.Current, 1e-9)
			require.InDelta(t, float64(m[5])*0.256+float64(m[6])/1000, f.Charge, 1e-9)
			require.InDelta(t, (float64(m[7])*256+float64(m[8]))*100/60*2*math.Pi, f.ElectricalSpeed, 1e-6)
		}
	})
}

// One, two or three flipped bits of the ten bytes are never taken: the polynomial tells all
// of those in messages of this length (property of the code: distance 4 up to 119 bits, MEM; tried here).
func TestTelemetryTakesNoFlippedBits(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := drawn(t)
		flips := rapid.SliceOfNDistinct(rapid.IntRange(0, 79), 1, 3, func(i int) int { return i }).Draw(t, "flips")
		for _, bit := range flips {
			m[bit/8] ^= 1 << (bit % 8)
		}
		d := telemetry(t, decode.Telemetry{})
		out := readTelemetry(d, frames([][]byte{m}, ms), 3*ms)
		require.Empty(t, out.Frames)
		require.Equal(t, decode.TelemetryTally{Corrupt: 1}, d.Tally())
		require.Len(t, out.Events, 1)
		require.Equal(t, trace.Corrupt, out.Events[0].Kind)
	})
}

// flipped returns the edges of a message in which the level of one bit time is the other.
func flipped(message []byte, bit int) (edges []signal.Edge) {
	clean := frames([][]byte{message}, ms)
	level := true
	begin := func(k int) signal.Time { return ms + signal.Time((int64(k)*1e9+57600)/115200) }
	at := func(k int) bool {
		high := true
		for _, e := range clean {
			if e.At <= begin(k)+100 {
				high = e.Level
			}
		}
		return high != (k == bit)
	}
	for k := range 101 {
		if now := at(k); now != level {
			level = now
			edges = append(edges, signal.Edge{At: begin(k), Level: level})
		}
	}
	return edges
}

// Every single bit of the line is turned over, start and stop bits among them.
func TestTelemetryTakesNoFlippedLevel(t *testing.T) {
	random := rand.New(rand.NewPCG(4, 4))
	for range 60 {
		nine := make([]byte, 9)
		for i := range nine {
			nine[i] = byte(random.Uint32())
		}
		m := framed(nine...)
		for bit := range 100 {
			d := telemetry(t, decode.Telemetry{})
			out := readTelemetry(d, flipped(m, bit), 4*ms)
			require.Empty(t, out.Frames, "% x, bit %d", m, bit)
			require.NotZero(t, d.Tally().Corrupt, "% x, bit %d", m, bit)
		}
		clean := readTelemetry(telemetry(t, decode.Telemetry{}), flipped(m, -1), 4*ms)
		require.Len(t, clean.Frames, 1)
	}
}

func TestTelemetryThroughASampler(t *testing.T) {
	random := rand.New(rand.NewPCG(4, 5))
	var messages [][]byte
	for range 300 {
		nine := make([]byte, 9)
		for i := range nine {
			nine[i] = byte(random.Uint32())
		}
		messages = append(messages, framed(nine...))
	}
	edges := frames(messages, 3*ms)
	layout := signal.Layout{Lines: []signal.LineSpec{signal.Spec(signal.ESCTelemetry, 0)}}
	for _, row := range []struct {
		name   string
		turn   signal.Time
		stalls simulated.Stalls
		least  int
	}{
		{"steady", us, simulated.Stalls{}, 300},
		{"fast", us / 2, simulated.Stalls{}, 300},
		// A stamp reaches back over two turns: of 2 us it is known to less than half of a bit of 8.7 us, of 3 us it is not.
		{"slow", 2 * us, simulated.Stalls{}, 300},
		{"slower", 2150, simulated.Stalls{}, 300},
		{"too slow", 3 * us, simulated.Stalls{}, 40},
		{"stalls", us, simulated.Stalls{Mean: 5 * ms, Least: 5 * us, Most: 300 * us, Draw: random.Uint64}, 150},
	} {
		t.Run(row.name, func(t *testing.T) {
			bench, err := simulated.New(simulated.Settings{Layout: layout, Board: &tape{edges: edges}, Sampler: simulated.Sampler{Period: row.turn, Stalls: row.stalls}})
			require.NoError(t, err)
			defer bench.Close()
			d := telemetry(t, decode.Telemetry{})
			var out decode.TelemetryOutput
			var seen []signal.Edge
			for at := ms; at < 910*ms; at += ms {
				require.NoError(t, bench.Wait(at))
				seen, err = bench.Captured(seen[:0])
				require.NoError(t, err)
				for _, e := range seen {
					d.Edge(e, &out)
				}
				d.Until(at, &out)
			}
			assert.GreaterOrEqual(t, len(out.Frames), row.least)
			for _, f := range out.Frames {
				i := int((f.Start - ms) / (3 * ms))
				require.True(t, f.Start-f.Uncertainty <= ms+signal.Time(i)*3*ms && ms+signal.Time(i)*3*ms <= f.Start)
				require.Equal(t, float64(messages[i][0]), f.Temperature)
				require.InDelta(t, float64(messages[i][1])*2.56+float64(messages[i][2])/100, f.Voltage, 1e-9)
			}
			tally := d.Tally()
			assert.Zero(t, tally.Corrupt, "the rig is to blame")
			assert.True(t, tally.Uncertain <= int64(300-len(out.Frames)), "pieces of a frame count once: %+v", tally)
			assert.Equal(t, row.least < 300, tally.Uncertain > 0)
			t.Logf("%+v", tally)
		})
	}
}

func TestTelemetryLossesAreCounted(t *testing.T) {
	m := framed(25, 4, 0xD2, 9, 0x29, 1, 0x59, 0, 0xB4)
	bad := append([]byte(nil), m...)
	bad[3] ^= 0x10
	var edges []signal.Edge
	for i := range 20 { // every 20 ms, but for three that do not come, a wrong one, and a short one
		at := ms + signal.Time(i)*20*ms
		switch i {
		case 3, 4, 9:
		case 6:
			edges, _ = at115200.Append(edges, at, bad)
		case 11:
			edges, _ = at115200.Append(edges, at, m[:7])
		default:
			edges, _ = at115200.Append(edges, at, m)
		}
	}
	d := telemetry(t, decode.Telemetry{Period: 20 * ms, LostAfter: 50 * ms})
	out := readTelemetry(d, edges, 600*ms)
	assert.Equal(t, decode.TelemetryTally{Frames: 15, Corrupt: 2, Lost: 3}, d.Tally())
	var lost []signal.Time
	for _, e := range out.Events {
		if e.Kind == trace.Lost {
			lost = append(lost, e.At/ms*ms)
		}
	}
	assert.Equal(t, []signal.Time{2*20*ms + 51*ms, 19*20*ms + 51*ms}, lost, "100 ms without one, and the end")
	d = telemetry(t, decode.Telemetry{LostAfter: 50 * ms})
	readTelemetry(d, edges, 600*ms)
	assert.EqualValues(t, 2, d.Tally().Lost, "without a period the times of silence are counted")
}

// What a dead controller may leave on the line is no frame.
func TestTelemetryOfADeadLine(t *testing.T) {
	good := framed(1, 2, 3, 4, 5, 6, 7, 8, 9)
	// A byte without its stop bit, and a frame right behind it.
	broken, end := at115200.Append(nil, ms, []byte{0x00})
	broken[1].At += at115200.Length(1) / 8
	broken, _ = at115200.Append(broken, end+at115200.Length(1)/2, good)
	for _, row := range []struct {
		name    string
		edges   []signal.Edge
		corrupt int64
	}{
		{"a frame right behind a broken byte", broken, 1},
		{"nothing", nil, 0},
		{"stuck low", []signal.Edge{{At: ms}}, 1},
		{"ten zeros, whose checksum is right", frames([][]byte{make([]byte, 10)}, ms), 1},
		{"eleven bytes", frames([][]byte{append(good[:10:10], 0x55)}, ms), 1},
	} {
		t.Run(row.name, func(t *testing.T) {
			d := telemetry(t, decode.Telemetry{})
			out := readTelemetry(d, row.edges, 200*ms)
			assert.Equal(t, row.name == "eleven bytes", len(out.Frames) == 1)
			assert.Equal(t, row.corrupt, d.Tally().Corrupt)
			assert.EqualValues(t, 1, d.Tally().Lost)
			assert.Equal(t, trace.Lost, out.Events[len(out.Events)-1].Kind)
		})
	}
}

func TestTelemetryRefuses(t *testing.T) {
	for _, row := range []struct {
		cfg  decode.Telemetry
		want string
	}{
		{decode.Telemetry{Baud: 100}, "100 baud; write 300 to 12000000"},
		{decode.Telemetry{Silence: -1}, "write a time above 0 s"},
		{decode.Telemetry{LostAfter: us}, "write a longer time"},
		{decode.Telemetry{Period: us}, "write a longer period"},
	} {
		_, err := decode.NewESCTelemetry(row.cfg)
		assert.ErrorContains(t, err, row.want)
	}
}

func TestSerialBytes(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		spec := signal.PortSpec{
			Baud: rapid.SampledFrom([]int{9600, 115200, 1_000_000}).Draw(t, "baud"), Parity: signal.Parity(rapid.IntRange(0, 2).Draw(t, "parity")),
			StopBits: rapid.IntRange(0, 2).Draw(t, "stop bits"), Inverted: rapid.Bool().Draw(t, "inverted"),
		}
		uart, err := wire.NewUART(spec)
		require.NoError(t, err)
		d, err := decode.NewSerialBytes(decode.Serial{Baud: spec.Baud, Parity: spec.Parity, StopBits: spec.StopBits, Inverted: spec.Inverted})
		require.NoError(t, err)
		data := rapid.SliceOfN(rapid.Byte(), 1, 20).Draw(t, "data")
		// A sender whose clock is off by up to 2 % is read all the same (common practice, no source).
		uart.Baud += uart.Baud * rapid.IntRange(-2, 2).Draw(t, "percent") / 100
		edges, end := uart.Append(nil, ms, data)
		var got []decode.SerialByte
		for _, e := range edges {
			got = d.Edge(e, got)
		}
		got = d.Until(end+ms, got)
		require.Len(t, got, len(data))
		for i, b := range got {
			require.Equal(t, data[i], b.Value)
			require.Equal(t, decode.Sound, b.Fault)
		}
		require.Equal(t, uart.BitsPerByte(), int((d.Length(1)*signal.Time(spec.Baud)+signal.Second/2)/signal.Second))
	})
}

func TestSerialByteFaults(t *testing.T) {
	bit := 10 * us // 100 kbaud
	level := func(at signal.Time, high bool, late signal.Time) signal.Edge {
		return signal.Edge{At: at, Level: high, Uncertainty: uint32(late)}
	}
	for _, row := range []struct {
		name  string
		cfg   decode.Serial
		edges []signal.Edge
		want  decode.ByteFault
		value byte
	}{
		{"sound", decode.Serial{}, []signal.Edge{level(0, false, 0), level(5*bit, true, 0)}, decode.Sound, 0xF0},
		{"no stop bit", decode.Serial{}, []signal.Edge{level(0, false, 0), level(11*bit, true, 0)}, decode.NoStop, 0},
		{"even parity", decode.Serial{Parity: signal.EvenParity}, []signal.Edge{level(0, false, 0), level(8*bit, true, 0)}, decode.Sound, 0x80},
		{"wrong parity", decode.Serial{Parity: signal.OddParity}, []signal.Edge{level(0, false, 0), level(8*bit, true, 0)}, decode.WrongParity, 0x80},
		{"second stop bit", decode.Serial{StopBits: 2}, []signal.Edge{level(0, false, 0), level(9*bit, true, 0), level(10*bit, false, 0), level(11*bit, true, 0)}, decode.NoStop, 0},
		{"a stamp over the middle of a bit", decode.Serial{}, []signal.Edge{level(0, false, 0), level(5*bit+7*us, true, 14*us)}, decode.UncertainByte, 0xF0},
		{"a stamp over the middle of the bit behind, longer than a bit", decode.Serial{}, []signal.Edge{level(0, false, 0), level(5*bit+9*us, true, 12*us)}, decode.UncertainByte, 0xF0},
		{"a stamp over the middle of the bit behind", decode.Serial{}, []signal.Edge{level(0, false, 0), level(5*bit+6*us, true, 8*us)}, decode.Sound, 0xF0},
		{"and a start that leaves two places", decode.Serial{}, []signal.Edge{level(5*us, false, 8*us), level(5*bit+7*us, true, 8*us)}, decode.UncertainByte, 0xF0},
		{"a stamp beside it", decode.Serial{}, []signal.Edge{level(0, false, 0), level(5*bit+2*us, true, 4*us)}, decode.Sound, 0xF0},
		{"a start known too badly", decode.Serial{}, []signal.Edge{level(5*us, false, 12*us), level(5*bit, true, 0)}, decode.Sound, 0xF0},
		{"a gap of a bit", decode.Serial{}, []signal.Edge{level(0, false, 0), level(3*bit, false, 11*us), level(5*bit, true, 0)}, decode.UncertainByte, 0xF0},
		{"a short gap", decode.Serial{}, []signal.Edge{level(0, false, 0), level(3*bit, false, 9*us), level(5*bit, true, 0)}, decode.Sound, 0xF0},
		{"of the past", decode.Serial{}, []signal.Edge{level(0, false, 0), level(5*bit, true, 0), level(3*bit, true, 0)}, decode.UncertainByte, 0xF0},
	} {
		t.Run(row.name, func(t *testing.T) {
			row.cfg.Baud = 100_000
			d, err := decode.NewSerialBytes(row.cfg)
			require.NoError(t, err)
			var got []decode.SerialByte
			for _, e := range row.edges {
				e.At += ms
				got = d.Edge(e, got)
			}
			got = d.Until(3*ms, got)
			require.Len(t, got, 1)
			assert.Equal(t, row.want, got[0].Fault)
			assert.Equal(t, row.value, got[0].Value)
		})
	}
	d, err := decode.NewSerialBytes(decode.Serial{Baud: 100_000})
	require.NoError(t, err)
	spike := d.Edge(level(ms, false, 0), nil)
	spike = d.Edge(level(ms+3*us, true, 0), spike)
	assert.Empty(t, d.Until(2*ms, spike), "a spike shorter than half a bit begins no byte")
	_, err = decode.NewSerialBytes(decode.Serial{Baud: 9600, StopBits: 3})
	assert.ErrorContains(t, err, "3 stop bits")
	_, err = decode.NewSerialBytes(decode.Serial{Baud: 9600, Parity: 3})
	assert.ErrorContains(t, err, "parity 3")
}

func TestTelemetryAllocatesNothing(t *testing.T) {
	m := framed(25, 4, 0xD2, 9, 0x29, 1, 0x59, 0, 0xB4)
	edges := frames([][]byte{m, m, m, m, m, m, m, m}, 2*ms)
	d := telemetry(t, decode.Telemetry{})
	out := decode.TelemetryOutput{Frames: make([]decode.TelemetryFrame, 0, 10)}
	next := 0
	assert.Zero(t, testing.AllocsPerRun(len(edges)-1, func() {
		d.Edge(edges[next], &out)
		next++
	}))
	assert.Len(t, out.Frames, 7)
}

func FuzzTelemetry(f *testing.F) {
	f.Add(bytesOf([3]byte{100, 0, 0}, [3]byte{30, 1, 0}))
	f.Add(bytesOf([3]byte{100, 0x40, 255}, [3]byte{12, 0x41, 255}, [3]byte{1, 0x80, 20}))
	f.Fuzz(func(t *testing.T, data []byte) {
		d := telemetry(t, decode.Telemetry{Period: 5 * ms})
		var out decode.TelemetryOutput
		for i, e := range edgesOf(data, 1) {
			d.Edge(e, &out)
			if i%7 == 0 {
				d.Until(e.At, &out)
			}
		}
		d.Until(signal.Second, &out)
		at := signal.Time(0)
		for _, e := range out.Events {
			require.GreaterOrEqual(t, e.At, at)
			at = e.At
		}
		tally := d.Tally()
		require.EqualValues(t, len(out.Frames), tally.Frames)
		require.True(t, tally.Lost >= 0 && tally.Corrupt >= 0)
	})
}
