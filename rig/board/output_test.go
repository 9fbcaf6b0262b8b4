package board_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig/board"
	"hilrig/rig/signal"
)

// lineLog is the pulses of one line.
type lineLog struct {
	idle   bool
	pulses []pulse
	rose   signal.Time
}

// outputs plays a board with throttle at 40 % for a while and returns what its
// motor lines did.
func outputs(t *testing.T, change func(s *board.Settings), inverted [4]bool, throttle float64) [4]lineLog {
	s := board.Bramble()
	change(&s)
	l := layout()
	var logs [4]lineLog
	for i, name := range motorNames {
		line, ok := l.Line("motor_" + name)
		require.True(t, ok)
		l.Lines[line].Idle = inverted[i]
		logs[i].idle = inverted[i]
	}
	b, err := board.NewBuiltIn(s, l, 1)
	require.NoError(t, err)
	w := newWorld(t, b)
	w.throttleTo(throttle)
	for range 300 {
		w.make(w.now + ms)
		w.out, err = b.Run(w.in, w.now+ms, w.out[:0])
		require.NoError(t, err)
		w.now += ms
		for _, e := range w.out {
			g := &logs[e.Line-w.lineOfMotors]
			if e.Level != g.idle {
				g.rose = e.At
			} else {
				g.pulses = append(g.pulses, pulse{g.rose, e.At})
			}
		}
	}
	return logs
}

// word reads the last frame's pulses as bits and returns the value and whether the
// checksum, by the published rule, is that of a plain and of an inverted line
// (READ: DShotRMT README; the four checksum bits are (v ^ v>>4 ^ v>>8) & 0xF).
func (g *lineLog) word(t *testing.T, kbit float64) (value int, plain, inverted bool) {
	require.Greater(t, len(g.pulses), 32)
	bit := 1e6 / kbit
	var word int
	last := g.pulses[:len(g.pulses)/16*16] // whole frames
	last = last[len(last)-16:]
	begin := last[0].start
	for i, p := range last {
		assert.InDelta(t, float64(begin)+float64(i)*bit, float64(p.start), 2, "bit %d", i)
		word <<= 1
		width := float64(p.end - p.start)
		if width > bit*9/16 {
			word |= 1
			assert.InDelta(t, bit*6/8, width, 2, "T1H of bit %d", i)
		} else {
			assert.InDelta(t, bit*3/8, width, 2, "T0H of bit %d", i)
		}
	}
	v := word >> 4
	assert.Zero(t, v&1, "no telemetry asked")
	sum := (v ^ v>>4 ^ v>>8) & 0xF
	return v >> 1, word&0xF == sum, word&0xF == sum^0xF
}

func TestDigitalOutput(t *testing.T) {
	all := [4]bool{true, true, true, true}
	for _, row := range []struct {
		name     string
		format   board.Format
		kbit     float64
		rate     float64
		change   func(o *board.Output)
		inverted [4]bool
		throttle float64
		want     int
	}{
		{"150", board.DShot150, 150, 1000, nil, [4]bool{}, 0.4, 48 + 800},
		{"150 at 8 kHz", board.DShot150, 150, 8000, nil, [4]bool{}, 0.4, 48 + 800},
		{"300", board.DShot300, 300, 2000, nil, [4]bool{}, 1, 2047},
		{"600 at 8 kHz", board.DShot600, 600, 8000, nil, [4]bool{}, 0.4, 48 + 800},
		{"600 inverted", board.DShot600, 600, 4000, func(o *board.Output) {
			for i := range o.Wheel {
				o.Wheel[i].Inverted = true
			}
		}, all, 0.4, 48 + 800},
		{"idle", board.DShot600, 600, 1000, nil, [4]bool{}, 0, 48},
		{"stop at idle", board.DShot600, 600, 1000, func(o *board.Output) { o.StopAtIdle = true }, [4]bool{}, 0, 0},
		{"two directions", board.DShot600, 600, 1000, func(o *board.Output) { o.TwoDirection = true }, [4]bool{}, 0.4, 1048 + 400},
		{"two directions, idle", board.DShot600, 600, 1000, func(o *board.Output) { o.TwoDirection = true }, [4]bool{}, 0, 1048},
		{"the other sense", board.DShot600, 600, 1000, func(o *board.Output) {
			o.TwoDirection = true
			for i := range o.Wheel {
				o.Wheel[i].ForwardLower = true
			}
		}, [4]bool{}, 1, 1047},
	} {
		t.Run(row.name, func(t *testing.T) {
			logs := outputs(t, func(s *board.Settings) {
				s.Output.Format = row.format
				s.OutputPeriod = signal.FromSeconds(1 / row.rate)
				if row.change != nil {
					row.change(&s.Output)
				}
			}, row.inverted, row.throttle)
			for i := range logs {
				value, plain, inverted := logs[i].word(t, row.kbit)
				assert.Equal(t, row.want, value)
				assert.Equal(t, !row.inverted[i], plain)
				assert.Equal(t, row.inverted[i], inverted)
				assert.InDelta(t, 0.3*row.rate*16, float64(len(logs[i].pulses)), 17, "frames a second")
			}
		})
	}
}

func TestPulseOutput(t *testing.T) {
	logs := outputs(t, func(s *board.Settings) {
		s.Output.Format, s.OutputPeriod = board.OneShot125, ms/2
		s.MotorIdle, s.MotorFull = 125*us, 250*us
		s.Output.Wheel[rl] = board.WheelOutput{Idle: 250 * us, Full: 125 * us}
	}, [4]bool{fr: true}, 0.4)
	for i := range logs {
		last := logs[i].pulses[len(logs[i].pulses)-1]
		want := 175 * us
		if i == rl {
			want = 200 * us
		}
		assert.Equal(t, want, last.end-last.start, motorNames[i])
		assert.InDelta(t, 600, len(logs[i].pulses), 1)
	}
}

// Whatever the format, a power cycle in the middle of a frame leaves the lines at rest.
func TestPowerCycleInAFrame(t *testing.T) {
	s := board.Bramble()
	s.Output.Format, s.OutputPeriod = board.DShot150, 120*us
	b, err := board.NewBuiltIn(s, layout(), 1)
	require.NoError(t, err)
	level := map[signal.Line]bool{}
	var out []signal.Edge
	high := 0
	for at := signal.Time(0); at < 20*ms; at += 997 {
		out, err = b.Run(nil, at, out[:0])
		require.NoError(t, err)
		for _, e := range out {
			assert.NotEqual(t, level[e.Line], e.Level, "levels alternate")
			level[e.Line] = e.Level
		}
		if at%(7*997) != 0 {
			continue
		}
		for _, l := range level {
			if l {
				high++
			}
		}
		require.NoError(t, b.Restart(at))
		out, err = b.Run(nil, at, out[:0])
		require.NoError(t, err)
		for _, e := range out {
			level[e.Line] = e.Level
		}
		for line, l := range level {
			require.False(t, l, "line %d at %v", line, at)
		}
	}
	assert.NotZero(t, high, "some were in a bit")
}

func TestStaggeredFrames(t *testing.T) {
	logs := outputs(t, func(s *board.Settings) {
		s.Output.Format, s.OutputPeriod = board.DShot600, ms/4
		faulty, err := board.WithFault(*s, "outputs_staggered")
		require.NoError(t, err)
		*s = faulty
	}, [4]bool{}, 0.4)
	value, plain, _ := logs[rr].word(t, 600)
	assert.True(t, plain)
	assert.Equal(t, 48+800, value)
	skew := logs[rr].pulses[160].start - logs[fl].pulses[160].start
	assert.InDelta(t, 222e3, float64(skew), 2e3, "three times a third of what the frame leaves of 250 us")
}

func TestOutputOutOfRangeIsNamed(t *testing.T) {
	for _, row := range []struct {
		want   string
		change func(s *board.Settings)
	}{
		{`Output.Format is "dshot1200"`, func(s *board.Settings) { s.Output.Format = "dshot1200" }},
		{"OutputPeriod", func(s *board.Settings) { s.Output.Format, s.OutputPeriod = board.DShot150, 110*us }},
		{"OutputPeriod", func(s *board.Settings) { s.Output.Wheel[1] = board.WheelOutput{Idle: ms, Full: 4 * ms} }},
		{"Output.Wheel[2]", func(s *board.Settings) { s.Output.Wheel[2].Idle = ms }},
	} {
		s := board.Bramble()
		row.change(&s)
		_, err := board.NewBuiltIn(s, layout(), 1)
		assert.ErrorContains(t, err, row.want)
	}
	_, err := board.NewNull(board.ConstantIdle, board.Pulses{Output: board.Output{Format: "none"}}, layout(), 1)
	assert.ErrorContains(t, err, "Output.Format")
	_, err = board.NewNull(board.ConstantIdle, board.Pulses{Period: ms}, layout(), 1)
	assert.ErrorContains(t, err, "longer period")
}

// Boards that control nothing speak the bench's format, too.
func TestNullBoardsSendFrames(t *testing.T) {
	p := board.Pulses{Output: board.Output{Format: board.DShot300}, Period: ms}
	b, err := board.NewNull(board.EqualTorque, p, layout(), 1)
	require.NoError(t, err)
	w := newWorld(t, b)
	w.throttleTo(0.5)
	w.run(200 * ms)
	g := lineLog{pulses: w.pulses[rr]}
	value, plain, _ := g.word(t, 300)
	assert.True(t, plain)
	assert.InDelta(t, 48+0.5*1999, value, 1)
}
