package decode_test

import (
	"cmp"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"hilrig/rig/decode"
	"hilrig/rig/signal"
	"hilrig/rig/simulated"
	"hilrig/stimulus/wire"
)

// The lines of a converter in these tests.
const (
	cellClock signal.Line = iota
	cellData
)

func loadCell(t require.TestingT, cfg decode.Converter) *decode.LoadCell {
	cfg.Clock, cfg.Data = cellClock, cellData
	cfg.Clocks = cmp.Or(cfg.Clocks, 25)
	d, err := decode.NewLoadCell(cfg)
	require.NoError(t, err)
	return d
}

// converter is a 24-bit converter as its data sheet has it (MEM): ready when it pulls data
// low, a bit a rise, 100 ns after it, high again from the 25th on.
type converter struct {
	ready  []signal.Time // when a conversion ends
	counts []int32       // its reading
	edges  []signal.Edge // of data
}

const dataDelay = 100 * signal.Nanosecond

// answers appends the edges of the data line for readings that are clocked out by the clock's edges, one
// burst after each time at which it is ready.
func (c *converter) answers(clock [][]signal.Edge) []signal.Edge {
	high := true
	put := func(at signal.Time, level bool) {
		if level != high {
			c.edges = append(c.edges, signal.Edge{At: at, Line: cellData, Level: level})
			high = level
		}
	}
	for i, burst := range clock {
		put(c.ready[i], false)
		rises := 0
		for _, e := range burst {
			if !e.Level {
				continue
			}
			rises++
			put(e.At+dataDelay, rises > 24 || c.counts[i]>>(24-rises)&1 == 1)
		}
	}
	return c.edges
}

// readouts returns the clock's edges of readouts, each 300 us after its conversion.
func readouts(t require.TestingT, ready []signal.Time, clocks int, high, low signal.Time) (bursts [][]signal.Edge) {
	c, err := wire.NewCellClock(clocks, cellClock)
	require.NoError(t, err)
	require.NoError(t, c.SetWidths(high, low))
	for _, at := range ready {
		bursts = append(bursts, c.Append(nil, at+300*us))
	}
	return bursts
}

// times returns n times from 10 ms on, 12.5 ms apart, as a converter of 80 readings a second has them.
func times(n int) (at []signal.Time) {
	for i := range n {
		at = append(at, 10*ms+signal.Time(i)*12500*us)
	}
	return at
}

// readCell feeds edges in order of time and tells of time tick by tick.
func readCell(d *decode.LoadCell, edges []signal.Edge, until signal.Time) (out decode.CellOutput) {
	edges = slices.Clone(edges)
	slices.SortStableFunc(edges, func(a, b signal.Edge) int { return cmp.Compare(a.At, b.At) })
	for at := ms; at <= until; at += ms {
		for len(edges) > 0 && edges[0].At <= at {
			d.Edge(edges[0])
			edges = edges[1:]
		}
		d.Until(at, &out)
	}
	return out
}

func drawCounts(t *rapid.T, n int) []int32 {
	return rapid.SliceOfN(rapid.Int32Range(-8388607, 8388606), n, n).Draw(t, "counts")
}

func TestLoadCellReadsWhatWasConverted(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		counts := drawCounts(t, 4)
		clocks := rapid.IntRange(25, 27).Draw(t, "clocks")
		width := signal.Time(rapid.SampledFrom([]int{500, 1000, 10_000, 40_000}).Draw(t, "width"))
		ready := times(4)
		bursts := readouts(t, ready, clocks, width, width)
		c := converter{ready: ready, counts: counts}
		all := c.answers(bursts)
		for _, b := range bursts {
			all = append(all, b...)
		}
		d := loadCell(t, decode.Converter{Clocks: clocks})
		out := readCell(d, all, 70*ms)
		var want []decode.CellReading
		for i := range counts {
			burst := bursts[i]
			want = append(want, decode.CellReading{Ready: ready[i], End: burst[len(burst)-1].At, Counts: counts[i]})
		}
		if clocks > 25 { // the first was taken at the gain of power-up
			want = want[1:]
			require.Equal(t, []decode.CellEvent{{At: bursts[0][2*clocks-1].At, Kind: decode.CellGain}}, out.Events)
		} else {
			require.Empty(t, out.Events)
		}
		require.Equal(t, want, out.Readings)
	})
}

// Numbers in two's complement of 24 bits, by hand.
func TestLoadCellNumbers(t *testing.T) {
	for _, row := range []struct {
		bits string
		want int32
	}{
		{"000000000000000000000000", 0},
		{"000000000000000000000001", 1},
		{"111111111111111111111111", -1},
		{"011111111111111111111110", 8388606},
		{"100000000000000000000001", -8388607},
		{"000000010000000000000000", 65536},
		{"111111101111111111111111", -65537},
	} {
		bursts := readouts(t, times(1), 25, us, us)
		all := append([]signal.Edge{{At: 10 * ms, Line: cellData}}, bursts[0]...)
		for i, digit := range row.bits + "1" { // which is more edges than changes: those to the level that is there are left out
			at := bursts[0][2*i].At + dataDelay
			level := digit == '1'
			if last := all[len(all)-1]; last.Line == cellData && last.Level == level || i == 0 && !level || i > 0 && (row.bits + "1")[i-1] == byte(digit) {
				continue
			}
			all = append(all, signal.Edge{At: at, Line: cellData, Level: level})
		}
		out := readCell(loadCell(t, decode.Converter{}), all, 20*ms)
		require.Empty(t, out.Events, row.bits)
		require.Len(t, out.Readings, 1, row.bits)
		assert.Equal(t, row.want, out.Readings[0].Counts, row.bits)
	}
}

// cellKinds returns the kinds of events.
func cellKinds(out decode.CellOutput) (list []decode.CellEventKind) {
	for _, e := range out.Events {
		list = append(list, e.Kind)
	}
	return list
}

func TestLoadCellEvents(t *testing.T) {
	const some = int32(0x123456)
	shift := func(edges []signal.Edge, from int, by signal.Time) {
		for i := range edges[from:] {
			edges[from+i].At += by
		}
	}
	for _, row := range []struct {
		name   string
		counts int32
		clock  func(burst []signal.Edge) []signal.Edge // what becomes of the first burst
		data   func(edges []signal.Edge) []signal.Edge // and of the answers
		want   []decode.CellEventKind
		read   int // readings, of two
	}{
		{"all is well", some, nil, nil, nil, 2},
		{"most", 0x7FFFFF, nil, nil, []decode.CellEventKind{decode.CellSaturated}, 1},
		{"least", -0x800000, nil, nil, []decode.CellEventKind{decode.CellSaturated}, 1},
		{"clock high for 49 us", some, func(b []signal.Edge) []signal.Edge { shift(b, 21, 48*us); return b }, nil, nil, 2},
		{"clock high for 51 us", some, func(b []signal.Edge) []signal.Edge { shift(b, 21, 50*us); return b }, nil, []decode.CellEventKind{decode.CellClockHigh}, 1},
		{"clock low for 51 us", some, func(b []signal.Edge) []signal.Edge { shift(b, 22, 50*us); return b }, nil, nil, 2},
		{"clock may have been high for 51 us", some, func(b []signal.Edge) []signal.Edge {
			shift(b, 21, 40*us)
			b[20].Uncertainty = 20_000
			return b
		}, nil, []decode.CellEventKind{decode.CellClockHigh}, 1},
		{"a pulse too many", some, func(b []signal.Edge) []signal.Edge {
			return append(b, signal.Edge{At: b[49].At + us, Level: true}, signal.Edge{At: b[49].At + 2*us})
		}, nil, []decode.CellEventKind{decode.CellClocks, decode.CellGain}, 0},
		{"a pulse too few", some, func(b []signal.Edge) []signal.Edge { return b[:48] }, nil, []decode.CellEventKind{decode.CellClocks, decode.CellGain}, 0},
		{"clocked before it was ready", some, func(b []signal.Edge) []signal.Edge { shift(b, 0, -ms); return b }, func(e []signal.Edge) []signal.Edge {
			return slices.DeleteFunc(e, func(e signal.Edge) bool { return e.At < 10*ms }) // it does not answer
		}, []decode.CellEventKind{decode.CellNotReady}, 1},
		{"data shorted to ground", some, nil, func([]signal.Edge) []signal.Edge { return []signal.Edge{{At: ms, Line: cellData}} }, []decode.CellEventKind{decode.CellStuck, decode.CellStuck}, 0},
		{"a spike on data", some, nil, func(e []signal.Edge) []signal.Edge {
			// Bit 1 is a 0 and so is bit 2: up and down again within a bit.
			return slices.Insert(e, 1, signal.Edge{At: 10*ms + 300*us + 200, Line: cellData, Level: true}, signal.Edge{At: 10*ms + 300*us + 500, Line: cellData})
		}, []decode.CellEventKind{decode.CellUncertain}, 1},
		{"nobody looked for 30 us", some, nil, func(e []signal.Edge) []signal.Edge {
			return slices.Insert(e, 1, signal.Edge{At: 10*ms + 302*us, Line: cellData, Uncertainty: 30_000})
		}, []decode.CellEventKind{decode.CellUncertain}, 1},
		{"nobody looked for half a microsecond", some, nil, func(e []signal.Edge) []signal.Edge {
			return slices.Insert(e, 1, signal.Edge{At: 10*ms + 302*us, Line: cellData, Uncertainty: 500})
		}, nil, 2},
		{"a coarse stamp", some, nil, func(e []signal.Edge) []signal.Edge { e[3].Uncertainty = 2500; return e }, []decode.CellEventKind{decode.CellUncertain}, 1},
	} {
		t.Run(row.name, func(t *testing.T) {
			ready := times(2)
			bursts := readouts(t, ready, 25, us, us)
			if row.clock != nil {
				bursts[0] = row.clock(bursts[0])
			}
			c := converter{ready: ready, counts: []int32{row.counts, some}}
			all := c.answers(bursts)
			if row.data != nil {
				all = row.data(all)
			}
			all = append(append(all, bursts[0]...), bursts[1]...)
			d := loadCell(t, decode.Converter{})
			out := readCell(d, all, 40*ms)
			assert.Equal(t, row.want, cellKinds(out))
			assert.Len(t, out.Readings, row.read)
			for _, r := range out.Readings {
				assert.Equal(t, some, r.Counts)
			}
		})
	}
}

func TestLoadCellUnplugged(t *testing.T) {
	d := loadCell(t, decode.Converter{ReadyWithin: 100 * ms})
	var out decode.CellOutput
	d.Until(90*ms, &out)
	assert.False(t, d.Ready())
	assert.Empty(t, out.Events)
	d.Until(300*ms, &out)
	d.Until(900*ms, &out)
	assert.Equal(t, []decode.CellEvent{{At: 100 * ms, Kind: decode.CellUnplugged}}, out.Events, "said once")
	d.Edge(signal.Edge{At: 900*ms + us, Line: cellData})
	d.Edge(signal.Edge{At: 900*ms + us, Line: 7, Level: true}) // another line
	d.Until(901*ms, &out)
	assert.True(t, d.Ready())
	d.Edge(signal.Edge{At: 902 * ms, Line: cellData, Level: true})
	d.Until(1100*ms, &out)
	assert.Equal(t, decode.CellEvent{At: 1002 * ms, Kind: decode.CellUnplugged}, out.Events[1])
}

// A clock that stays high is told before it falls.
func TestLoadCellClockThatStaysHigh(t *testing.T) {
	d := loadCell(t, decode.Converter{Clocks: 27})
	var out decode.CellOutput
	d.Edge(signal.Edge{At: ms, Line: cellData})
	d.Edge(signal.Edge{At: 2 * ms, Line: cellClock, Level: true})
	d.Until(3*ms, &out)
	assert.Equal(t, []decode.CellEvent{{At: 2*ms + 50*us, Kind: decode.CellClockHigh}}, out.Events)
	d.Edge(signal.Edge{At: 4 * ms, Line: cellClock})
	d.Until(5*ms, &out)
	assert.Len(t, out.Events, 1)
}

// A sampler stamps both lines: with pulses long enough for its uncertainty all is read, and
// with shorter ones or stalls no reading is wrong.
func TestLoadCellThroughASampler(t *testing.T) {
	layout := signal.Layout{Lines: []signal.LineSpec{signal.Spec(signal.CellClock, 0), signal.Spec(signal.CellData, 0)}}
	layout.Lines[cellClock].Direction = signal.Capture // as read back
	for _, row := range []struct {
		name   string
		width  signal.Time
		stalls simulated.Stalls
		least  int
	}{
		{"10 us", 10 * us, simulated.Stalls{}, 60},
		{"1 us", us, simulated.Stalls{}, 0},
		{"stalls", 10 * us, simulated.Stalls{Mean: 2 * ms, Least: 5 * us, Most: 300 * us}, 20},
	} {
		t.Run(row.name, func(t *testing.T) {
			ready := times(60)
			bursts := readouts(t, ready, 25, row.width, row.width)
			c := converter{ready: ready}
			noise := uint64(1)
			for range ready {
				noise = noise*6364136223846793005 + 1442695040888963407
				c.counts = append(c.counts, int32(noise>>32)>>8|1)
			}
			all := c.answers(bursts)
			for _, b := range bursts {
				all = append(all, b...)
			}
			slices.SortStableFunc(all, func(a, b signal.Edge) int { return cmp.Compare(a.At, b.At) })
			row.stalls.Draw = func() uint64 { noise = noise*6364136223846793005 + 1442695040888963407; return noise }
			bench, err := simulated.New(simulated.Settings{Layout: layout, Board: &tape{edges: all}, Sampler: simulated.Sampler{Period: us, Stalls: row.stalls}})
			require.NoError(t, err)
			defer bench.Close()
			d := loadCell(t, decode.Converter{})
			var out decode.CellOutput
			var edges []signal.Edge
			for at := ms; at < 800*ms; at += ms {
				require.NoError(t, bench.Wait(at))
				edges, err = bench.Captured(edges[:0])
				require.NoError(t, err)
				for _, e := range edges {
					d.Edge(e)
				}
				d.Until(at, &out)
			}
			next := 0
			for _, r := range out.Readings {
				for next < len(ready) && ready[next] < r.Ready-r.Uncertainty {
					next++
				}
				require.Less(t, next, len(ready))
				require.LessOrEqual(t, ready[next], r.Ready)
				require.Equal(t, c.counts[next], r.Counts)
			}
			assert.GreaterOrEqual(t, len(out.Readings), row.least)
			t.Logf("%d of %d, %v", len(out.Readings), len(ready), len(out.Events))
		})
	}
}

func TestLoadCellRefuses(t *testing.T) {
	for _, row := range []struct {
		cfg  decode.Converter
		want string
	}{
		{decode.Converter{Data: 1, Clocks: 24}, "write 25 to 27"},
		{decode.Converter{Clocks: 25}, "give each its own"},
		{decode.Converter{Data: 1, Clocks: 25, DropAfter: ms}, "a clock high for 0.001 s"},
		{decode.Converter{Data: 1, Clocks: 25, ReadyWithin: us}, "write 1 ms or more"},
	} {
		_, err := decode.NewLoadCell(row.cfg)
		assert.ErrorContains(t, err, row.want)
	}
	assert.Equal(t, "clock high", decode.CellClockHigh.String())
	assert.Equal(t, "cell event 99", decode.CellEventKind(99).String())
}

func TestLoadCellAllocatesNothing(t *testing.T) {
	ready := times(30)
	bursts := readouts(t, ready, 25, us, us)
	c := converter{ready: ready, counts: make([]int32, 30)}
	all := c.answers(bursts)
	d := loadCell(t, decode.Converter{})
	out := decode.CellOutput{Readings: make([]decode.CellReading, 0, 40)}
	next := 0
	step := func() {
		for _, e := range bursts[next] {
			d.Edge(e)
		}
		for _, e := range all {
			if e.At >= ready[next] && e.At < ready[next]+5*ms {
				d.Edge(e)
			}
		}
		d.Until(ready[next]+5*ms, &out)
		next++
	}
	step()
	step()
	assert.Zero(t, testing.AllocsPerRun(20, step))
	assert.Len(t, out.Readings, next)
}

func FuzzLoadCell(f *testing.F) {
	f.Add(bytesOf([3]byte{100, 2, 0}, [3]byte{10, 1, 0}, [3]byte{1, 0, 0}), byte(25))
	f.Add(bytesOf([3]byte{100, 1, 0}, [3]byte{255, 0x41, 255}, [3]byte{1, 0x80, 20}), byte(27))
	f.Fuzz(func(t *testing.T, data []byte, clocks byte) {
		d := loadCell(t, decode.Converter{Clocks: 25 + int(clocks)%3})
		var out decode.CellOutput
		for i, e := range edgesOf(data, 2) {
			d.Edge(e)
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
		for _, r := range out.Readings {
			require.True(t, r.Counts > -0x800000 && r.Counts < 0x7FFFFF)
		}
	})
}
