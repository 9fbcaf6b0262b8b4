package wire_test

import (
	"encoding/json"
	"math"
	"os"
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"hilrig/rig/decode"
	"hilrig/rig/signal"
	"hilrig/rig/trace"
	"hilrig/stimulus/wire"
)

// throttle returns an encoder on line 7 whose first command begins at 1 ms.
func throttle(t require.TestingT, cfg wire.Throttle) *wire.ThrottleEncoder {
	if cfg.Frame == 0 {
		cfg.Frame = signal.Millisecond
	}
	e, err := wire.NewThrottle(cfg, 7, signal.Millisecond)
	require.NoError(t, err)
	return e
}

// servo is a servo pulse of 1000 to 2000 us at 400 Hz.
func servo() wire.Throttle {
	return wire.Throttle{Frame: 2500 * signal.Microsecond, Idle: signal.Millisecond, Full: 2 * signal.Millisecond}
}

// digitalReference is what the outside says of digital frames.
type digitalReference struct {
	Source  []string `json:"source"`
	Vectors []struct {
		Value     int
		Telemetry int
		Frame     string
		Bits      string
		Inverted  string `json:"bidirectional_frame"`
	} `json:"dshot"`
	Timings []struct {
		Rate int     `json:"rate_kbit"`
		Bit  float64 `json:"bit_us"`
		One  float64 `json:"T1H_us"`
		Zero float64 `json:"T0H_us"`
	} `json:"dshot_timing"`
}

func digital(t *testing.T) (r digitalReference) {
	data, err := os.ReadFile("testdata/dshot.json")
	require.NoError(t, err)
	require.NoError(t, json.Unmarshal(data, &r))
	return r
}

func TestThrottleDigitalReference(t *testing.T) {
	r := digital(t)
	tried := 0
	for _, v := range r.Vectors {
		if v.Value > 0 && v.Value < 48 {
			continue // no throttle: a command that is never sent
		}
		for _, inverted := range []bool{false, true} {
			text := v.Frame
			if inverted {
				text = v.Inverted
			}
			want, err := strconv.ParseUint(text, 0, 16)
			require.NoError(t, err)
			e := throttle(t, wire.Throttle{Format: wire.DShot600, Inverted: inverted, Ask: v.Telemetry == 1, StopIsIdle: v.Value == 0})
			assert.Equal(t, uint16(want), e.Word(float64(v.Value-48)/1999), "value %d, telemetry %d, inverted %t: %v", v.Value, v.Telemetry, inverted, r.Source)
			tried++
		}
	}
	assert.Equal(t, 16, tried)
}

// The times of the edges are those of the published table, whose bit times are rounded to 10 ns.
func TestThrottleDigitalTiming(t *testing.T) {
	r := digital(t)
	require.Len(t, r.Timings, 3)
	for _, row := range r.Timings {
		format, ok := wire.ThrottleFormatNamed("dshot" + strconv.Itoa(row.Rate))
		require.True(t, ok)
		e := throttle(t, wire.Throttle{Format: format})
		edges := e.Append(nil, 0, 2*signal.Millisecond, float64(1046-48)/1999)
		require.Len(t, edges, 32)
		for bit, digit := range "1000001011000110" { // of 1046, by the reference
			rise, fall := edges[2*bit], edges[2*bit+1]
			high := row.Zero
			if digit == '1' {
				high = row.One
			}
			assert.True(t, rise.Level && !fall.Level)
			assert.InDelta(t, 1e6+float64(bit)*row.Bit*1000, float64(rise.At), 5*float64(bit)+1, "bit %d of %v", bit, format)
			assert.InDelta(t, high*1000, float64(fall.At-rise.At), 1, "bit %d of %v", bit, format)
		}
	}
}

func TestThrottlePulses(t *testing.T) {
	for _, row := range []struct {
		name    string
		cfg     wire.Throttle
		command float64
		width   signal.Time
		encoded float64
	}{
		// 1000 to 2000 us and 125 to 250 us: READ, as reference rows of public autopilots and
		// controllers have them (ArduPilot, Betaflight).
		{"idle", servo(), 0, 1_000_000, 0},
		{"half", servo(), 0.5, 1_500_000, 0.5},
		{"full", servo(), 1, 2_000_000, 1},
		{"beyond full", servo(), 1.2, 2_000_000, 1},
		{"below idle", servo(), -0.2, 1_000_000, 0},
		{"not a number", servo(), math.NaN(), 1_000_000, 0},
		{"infinite", servo(), math.Inf(1), 2_000_000, 1},
		{"one nanosecond", servo(), 1e-6, 1_000_001, 1e-6},
		{"quarter of an eighth", wire.Throttle{Format: wire.OneShot125}, 0.25, 156_250, 0.25},
		{"full in an eighth", wire.Throttle{Format: wire.OneShot125}, 1, 250_000, 1},
		{"reverse in an eighth", wire.Throttle{Format: wire.OneShot125, WithNeutral: true}, -1, 125_000, -1},
		{"neutral in an eighth", wire.Throttle{Format: wire.OneShot125, WithNeutral: true}, math.NaN(), 187_500, 0},
		{"steps of 1 us", wire.Throttle{Frame: 20 * signal.Millisecond, Idle: 1_500_000, Full: 1_100_000, WithNeutral: true, Step: signal.Microsecond}, -0.5013, 1_701_000, -201.0 / 400},
		{"reversed", wire.Throttle{Frame: 20 * signal.Millisecond, Idle: 2_000_000, Full: 1_000_000}, 0.25, 1_750_000, 0.25},
	} {
		t.Run(row.name, func(t *testing.T) {
			e := throttle(t, row.cfg)
			edges := e.Append(nil, 0, signal.Millisecond+1, row.command)
			edges = e.Append(edges, signal.Millisecond+1, 4*signal.Millisecond, 0.77)
			require.GreaterOrEqual(t, len(edges), 2)
			assert.Equal(t, signal.Edge{At: signal.Millisecond, Line: 7, Level: true}, edges[0])
			assert.Equal(t, signal.Edge{At: signal.Millisecond + row.width, Line: 7}, edges[1], "the command of its beginning")
			assert.InDelta(t, row.encoded, e.Encoded(row.command), 1e-12)
			assert.Zero(t, e.Word(row.command))
		})
	}
}

// By the published halves of the values: 48 to 1047 one sense, 1048 to 2047 the other. Idle is
// the least value of the sense that is ahead, so that a controller that does not reverse at once
// keeps its sense.
func TestThrottleSenses(t *testing.T) {
	for _, row := range []struct {
		lower   bool
		command float64
		value   uint16
	}{
		{false, 0, 1048}, {false, 1, 2047}, {false, -1.0 / 999, 49}, {false, -1, 1047},
		{true, 0, 48}, {true, 1, 1047}, {true, -1.0 / 999, 1049}, {true, -1, 2047},
	} {
		e := throttle(t, wire.Throttle{Format: wire.DShot300, TwoDirection: true, ForwardLower: row.lower})
		assert.Equal(t, row.value, e.Word(row.command)>>5, "forward lower %t, command %g", row.lower, row.command)
	}
}

// motorOf declares the same line for the decoder, which is other code.
func motorOf(t require.TestingT, c wire.Throttle) decode.Motor {
	kind, ok := decode.MotorKindNamed(c.Format.String())
	require.True(t, ok)
	m := decode.Motor{
		Kind:  kind,
		DShot: decode.DShot{TwoDirection: c.TwoDirection, ForwardLower: c.ForwardLower, Inverted: c.Inverted, StopIsIdle: c.StopIsIdle},
		Servo: decode.Servo{Idle: c.Idle, Full: c.Full, WithNeutral: c.WithNeutral, Inverted: c.Inverted},
	}
	assert.Equal(t, m.Lowest(), c.Lowest())
	if c.Format.Digital() {
		assert.Equal(t, m.CommandStep(), c.Resolution())
	}
	return m
}

func drawThrottle(t *rapid.T) wire.Throttle {
	c := wire.Throttle{
		Format:       wire.ThrottleFormat(rapid.IntRange(0, int(wire.ThrottleFormats)-1).Draw(t, "format")),
		TwoDirection: rapid.Bool().Draw(t, "two directions"),
		ForwardLower: rapid.Bool().Draw(t, "forward lower"),
		StopIsIdle:   rapid.Bool().Draw(t, "stop is idle"),
		WithNeutral:  rapid.Bool().Draw(t, "neutral"),
		Inverted:     rapid.Bool().Draw(t, "inverted"),
		Ask:          rapid.Bool().Draw(t, "ask"),
	}
	if c.Format == wire.ServoPulse {
		c.Idle, c.Full = signal.Millisecond, 2*signal.Millisecond
		if c.WithNeutral {
			c.Idle = 1500 * signal.Microsecond
		}
	}
	c.Frame = c.Longest() + signal.Time(rapid.Int64Range(20_000, 3_000_000).Draw(t, "rest"))
	return c
}

func TestThrottleIsDecodedAsItWasSent(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := drawThrottle(t)
		e := throttle(t, c)
		d, err := motorOf(t, c).New()
		require.NoError(t, err)
		d.Reset(0)
		var out trace.Output
		var edges []signal.Edge
		var want []wire.ThrottleFrame
		command, tick, end := 0.0, signal.Millisecond, 60*signal.Millisecond
		for at := signal.Time(0); at < end; at += tick {
			command = rapid.Float64Range(-1.1, 1.1).Draw(t, "command")
			begin := len(edges)
			before, _ := e.Sent()
			edges = e.Append(edges, at, at+tick, command)
			if f, ok := e.Sent(); ok && f != before {
				want = append(want, f)
				assert.Equal(t, e.Encoded(command), f.Command)
			}
			for i, edge := range edges[begin:] {
				assert.True(t, edge.At >= at && edge.At < at+tick && edge.Line == 7)
				if begin+i > 0 {
					assert.Less(t, edges[begin+i-1].At, edge.At)
					assert.NotEqual(t, edges[begin+i-1].Level, edge.Level)
				}
				d.Edge(edge, &out)
			}
			d.Until(at+tick-1, &out)
		}
		read := map[signal.Time]trace.Frame{}
		for _, f := range out.Frames {
			read[f.Start] = f
		}
		stops := map[bool]int{}
		for _, event := range out.Events {
			stops[event.Kind == trace.Stop]++
		}
		assert.Zero(t, stops[false], "events %v", out.Events)
		for _, f := range want {
			if f.End >= end-signal.Millisecond {
				continue
			}
			got, ok := read[f.Start]
			if !assert.True(t, ok, "command at %v", f.Start) {
				continue
			}
			assert.Equal(t, f.End, got.End)
			assert.InDelta(t, f.Command, got.Value, 1e-9)
		}
	})
}

func TestThrottleResolutionIsTheLeastStep(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := drawThrottle(t)
		if !c.Format.Digital() {
			c.Step = signal.Time(rapid.Int64Range(1, 5000).Draw(t, "step"))
		}
		e := throttle(t, c)
		least := e.Resolution()
		from := e.Encoded(rapid.Float64Range(c.Lowest(), 1-3*least).Draw(t, "from"))
		for _, row := range []struct{ change, want float64 }{{0.4, 0}, {0.6, 1}, {1, 1}, {1.4, 1}} {
			assert.InDelta(t, float64(row.want*least), e.Encoded(from+float64(row.change*least))-from, 1e-9, "%g of a step", row.change)
		}
	})
}

func TestThrottleCutsAreSeamless(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := drawThrottle(t)
		end := 20 * signal.Millisecond
		whole := throttle(t, c).Append(nil, 0, end, 0.4)
		e := throttle(t, c)
		var cut []signal.Edge
		for at := signal.Time(0); at < end; {
			to := min(end, at+signal.Time(rapid.Int64Range(1, 3_000_000).Draw(t, "span")))
			cut = e.Append(cut, at, to, 0.4)
			if len(cut) > 0 {
				assert.Equal(t, cut[len(cut)-1].Level, e.Level(7))
			}
			at = to
		}
		assert.Equal(t, whole, cut)
	})
}

func TestThrottleSilence(t *testing.T) {
	for _, format := range []wire.ThrottleFormat{wire.OneShot125, wire.DShot300} {
		e := throttle(t, wire.Throttle{Format: format, Inverted: true})
		assert.True(t, e.Level(7), "an inverted line rests high")
		assert.False(t, e.Level(8))
		_, ok := e.Sent()
		assert.False(t, ok)
		middle := signal.Millisecond + 20*signal.Microsecond
		begun := e.Append(nil, 0, middle, 0.5)
		e.SetSilent(true)
		begun = e.Append(begun, middle, 10*signal.Millisecond, 0.5)
		f, ok := e.Sent()
		require.True(t, ok)
		assert.Equal(t, signal.Millisecond, f.Start, "nothing more comes")
		assert.Equal(t, f.End, begun[len(begun)-1].At, "what has begun is finished")
		assert.True(t, e.Level(7))
		e.SetSilent(false)
		again := e.Append(nil, 10*signal.Millisecond, 11*signal.Millisecond, 0.5)
		require.NotEmpty(t, again)
		assert.Equal(t, 10*signal.Millisecond, again[0].At, "on its grid")
	}
}

func TestThrottleGapEndsWhatWasUnderWay(t *testing.T) {
	e := throttle(t, wire.Throttle{Format: wire.DShot150})
	begun := e.Append(nil, 0, signal.Millisecond+2*signal.Microsecond, 0.5)
	require.Len(t, begun, 1)
	rest := e.Append(nil, 1500*signal.Microsecond, 2*signal.Millisecond, 0.5)
	assert.Equal(t, []signal.Edge{{At: 1500 * signal.Microsecond, Line: 7}}, rest)
	next := e.Append(nil, 2*signal.Millisecond, 3*signal.Millisecond, 0.5)
	require.Len(t, next, 32)
	assert.Equal(t, 2*signal.Millisecond, next[0].At)
}

func TestThrottleRefuses(t *testing.T) {
	for _, row := range []struct {
		name, want string
		change     func(*wire.Throttle)
	}{
		{"format", "throttle format 9 is not known", func(c *wire.Throttle) { c.Format = 9 }},
		{"no widths", "write both above zero", func(c *wire.Throttle) { c.Idle = 0 }},
		{"no span", "idle and full are both 0.001 s wide", func(c *wire.Throttle) { c.Full = c.Idle }},
		{"no reverse", "leaves no pulse for full reverse", func(c *wire.Throttle) { c.WithNeutral = true }},
		{"coarse", "widths in steps of 0.002 s", func(c *wire.Throttle) { c.Step = 2 * signal.Millisecond }},
		{"no rest", "a command every 0.002 s", func(c *wire.Throttle) { c.Frame = 2 * signal.Millisecond }},
		{"no frame", "write a lower rate", func(c *wire.Throttle) { c.Format, c.Frame = wire.DShot150, 0 }},
		{"no rest behind bits", "write a lower rate", func(c *wire.Throttle) { c.Format, c.Frame = wire.DShot150, 119*signal.Microsecond }},
	} {
		t.Run(row.name, func(t *testing.T) {
			c := servo()
			row.change(&c)
			_, err := wire.NewThrottle(c, 0, 0)
			assert.ErrorContains(t, err, row.want)
		})
	}
	_, err := wire.NewThrottle(servo(), 0, -1)
	assert.ErrorContains(t, err, "begin at 0 s or later")
	_, ok := wire.ThrottleFormatNamed("dshot1200")
	assert.False(t, ok)
}

func TestThrottleAllocatesNothing(t *testing.T) {
	for format := range wire.ThrottleFormats {
		c := servo()
		c.Format = format
		e := throttle(t, c)
		edges := make([]signal.Edge, 0, 256)
		at := signal.Time(0)
		assert.Zero(t, testing.AllocsPerRun(1000, func() {
			edges = e.Append(edges[:0], at, at+signal.Millisecond, 0.3)
			at += signal.Millisecond
		}), format)
	}
}

func TestCellClock(t *testing.T) {
	for clocks := 25; clocks <= 27; clocks++ {
		c, err := wire.NewCellClock(clocks, 5)
		require.NoError(t, err)
		edges := c.Append(nil, 3*signal.Millisecond)
		require.Len(t, edges, 2*clocks)
		for i, e := range edges {
			assert.Equal(t, signal.Edge{At: 3*signal.Millisecond + signal.Time(i)*signal.Microsecond, Line: 5, Level: i%2 == 0}, e)
		}
		assert.Equal(t, signal.Time(2*clocks)*signal.Microsecond, c.Length())
		assert.Equal(t, clocks, c.Clocks())
		assert.EqualValues(t, 5, c.Line())
		require.NoError(t, c.SetWidths(10*signal.Microsecond, 15*signal.Microsecond))
		edges = c.Append(edges[:0], 0)
		assert.Equal(t, 25*signal.Microsecond, edges[2].At)
		assert.Equal(t, 10*signal.Microsecond, edges[1].At)
		assert.Equal(t, signal.Time(25*clocks)*signal.Microsecond, c.Length())
		assert.Zero(t, testing.AllocsPerRun(100, func() { edges = c.Append(edges[:0], 0) }))
		assert.ErrorContains(t, c.SetWidths(45*signal.Microsecond, 0), "clock pulse high for 0.000045 s")
		assert.ErrorContains(t, c.SetWidths(signal.Microsecond, 0), "clock pulse low for 0 s")
	}
	for _, clocks := range []int{0, 24, 28} {
		_, err := wire.NewCellClock(clocks, 0)
		assert.ErrorContains(t, err, "write 25 to 27")
	}
}
