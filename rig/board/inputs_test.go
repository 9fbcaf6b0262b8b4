package board_test

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"hilrig/rig/board"
	"hilrig/rig/signal"
)

// TestSerialReceiver shows the receiver hindrances between frames and within
// them; a shift of 4 % shows that frames still come through.
func TestSerialReceiver(t *testing.T) {
	for _, c := range []struct {
		name   string
		change func(w *world)
		works  bool
	}{
		{"2 % fast", func(w *world) { w.baud = 115200 * 1.02 }, true},
		{"2 % slow", func(w *world) { w.baud = 115200 * 0.98 }, true},
		{"8 % fast", func(w *world) { w.baud = 115200 * 1.08 }, false},
		{"corrupt first byte", func(w *world) { w.corrupt = func(b []byte) { b[0] = 0xA4 } }, false},
		{"corrupt second byte", func(w *world) { w.corrupt = func(b []byte) { b[1] = 0x5B } }, false},
		{"corrupt sequence", func(w *world) { w.corrupt = func(b []byte) { b[2]++ } }, false},
		{"corrupt yaw rate", func(w *world) { w.corrupt = func(b []byte) { b[4] ^= 1 } }, false},
		{"every other frame corrupt", func(w *world) {
			w.corrupt = func(b []byte) {
				if b[2]&2 == 0 {
					b[5] ^= 1
				}
			}
		}, true},
	} {
		t.Run(c.name, func(t *testing.T) {
			w := builtIn(t, nil)
			c.change(w)
			want := 0.0 // no drive without yaw frames
			if c.works {
				want = 0.44
			}
			understeer(w)
			assert.InDelta(t, want, w.mean()[rr], 0.003)
		})
	}
}

func TestJunkBetweenFramesIsPassedOver(t *testing.T) {
	for _, junk := range [][]byte{{0x00}, {0xFF, 0xFF}, {0xA5}, {0xA5, 0xA5}, {0xA5, 0x00, 0x5A}} {
		t.Run(fmt.Sprintf("% X", junk), func(t *testing.T) {
			w := builtIn(t, nil)
			w.run(ms)
			for i := range signal.Time(100) {
				w.send(w.now+i*5*ms+3*ms, junk)
			}
			understeer(w)
			assert.InDelta(t, 0.44, w.mean()[rr], 0.003)
		})
	}
}

func TestNoiseOnTheSerialLineIsNoStartBit(t *testing.T) {
	w := builtIn(t, nil)
	w.run(ms)
	for i := range signal.Time(100) {
		at := w.now + i*5*ms + 260*us // less than a byte before the next frame
		w.pending = append(w.pending,
			signal.Edge{At: at, Line: w.lineOfSerial}, signal.Edge{At: at + us, Line: w.lineOfSerial, Level: true})
	}
	understeer(w)
	assert.InDelta(t, 0.44, w.mean()[rr], 0.003)
}

// TestBreakEndsAFrame: half a frame and a break before each good frame do no harm.
func TestBreakEndsAFrame(t *testing.T) {
	w := builtIn(t, nil)
	w.run(2 * ms)
	for i := range signal.Time(100) {
		at := w.yawAt + i*5*ms
		w.send(at-900*us, []byte{0xA5, 0x5A})
		w.pending = append(w.pending,
			signal.Edge{At: at - 500*us, Line: w.lineOfSerial}, signal.Edge{At: at - 200*us, Line: w.lineOfSerial, Level: true})
	}
	understeer(w)
	assert.InDelta(t, 0.44, w.mean()[rr], 0.003)
}

// TestCRCOfTheCatalogue holds this file's bitwise checksum, with which every
// frame here is made, against the check value of CRC-8/SMBUS in the catalogue
// of parametrised CRC algorithms: 0xF4 for "123456789".
func TestCRCOfTheCatalogue(t *testing.T) {
	assert.Equal(t, byte(0xF4), bitwiseCRC([]byte("123456789")))
}

func TestPulsesPassThrough(t *testing.T) {
	for _, c := range []struct {
		width signal.Time
		want  float64
	}{{1000 * us, 0}, {1234 * us, 0.234}, {2000 * us, 1}, {2200 * us, 1}, {800 * us, 0}} {
		w := builtIn(t, nil)
		w.throttle = c.width
		w.run(200 * ms)
		assert.Equal(t, [4]float64{c.want, c.want, c.want, c.want}, w.last(), "%v", c.width)
	}
}

// TestOutputFrames: all four pulses begin together, at the frame rate, and
// their widths are whole microseconds.
func TestOutputFrames(t *testing.T) {
	w := builtIn(t, nil)
	understeer(w)
	for m := range w.pulses {
		for i, p := range w.pulses[m] {
			assert.Equal(t, w.pulses[0][i].start, p.start)
			assert.Zero(t, (p.end-p.start)%us)
			if i > 0 {
				assert.Equal(t, 3*ms, p.start-w.pulses[m][i-1].start)
			}
		}
	}
}

func TestClockErrorScalesTime(t *testing.T) {
	for _, ppm := range []int{-10000, -50, 50, 10000} {
		w := builtIn(t, func(s *board.Settings) { s.ClockError = ppm })
		w.throttleTo(0.5)
		w.run(2 * signal.Second)
		p := w.pulses[fl]
		first, last := p[0], p[len(p)-1]
		period := float64(last.start-first.start) / float64(len(p)-1)
		assert.InEpsilon(t, 3e6/(1+float64(ppm)*1e-6), period, 1e-7, "%d ppm", ppm)
		// It measures and makes pulses with the same clock, to a microsecond each.
		assert.InDelta(t, 1500e3, float64(last.end-last.start), 2100)
	}
}

// TestPhaseComesFromTheSeed: the same seed gives the same pulses, another other ones.
func TestPhaseComesFromTheSeed(t *testing.T) {
	first := map[signal.Time]bool{}
	for seed := range uint64(20) {
		var at [2]signal.Time
		for i := range at {
			b, err := board.NewBuiltIn(board.Bramble(), layout(), seed)
			require.NoError(t, err)
			w := newWorld(t, b)
			w.run(10 * ms)
			at[i] = w.pulses[fl][0].start
		}
		assert.Equal(t, at[0], at[1])
		assert.Greater(t, at[0], signal.Time(0))
		assert.LessOrEqual(t, at[0], 3*ms)
		first[at[0]] = true
	}
	assert.Len(t, first, 20)
}

// TestTimeMayBeCutAnyhow plays the same edges in milliseconds and in drawn
// pieces, empty ones among them: the board's edges are the same.
func TestTimeMayBeCutAnyhow(t *testing.T) {
	played, _ := record(t, 3)
	var edges []signal.Edge
	for _, e := range played[:200] {
		edges = append(edges, e...)
	}
	rapid.Check(t, func(t *rapid.T) {
		s := board.Bramble()
		s.ClockError = rapid.IntRange(-10000, 10000).Draw(t, "ppm")
		run := func(cut func() signal.Time) (out []signal.Edge) {
			b, err := board.NewBuiltIn(s, layout(), 7)
			require.NoError(t, err)
			rest := edges
			for now, before := signal.Time(0), signal.Time(0); now < 200*ms; before = now {
				now = min(now+cut(), 200*ms)
				n := 0
				for n < len(rest) && rest[n].At <= now {
					n++
				}
				begun := len(out)
				out, err = b.Run(rest[:n], now, out)
				require.NoError(t, err)
				rest = rest[n:]
				for _, e := range out[begun:] {
					if e.At < before || e.At > now {
						t.Fatalf("edge at %v in the step from %v to %v", e.At, before, now)
					}
					before = e.At
				}
			}
			return out
		}
		want := run(func() signal.Time { return ms })
		require.Greater(t, len(want), 8*60)
		cuts := rapid.SliceOfN(rapid.Int64Range(0, int64(10*ms)), 3, 30).Draw(t, "cuts")
		cuts[0] += int64(ms) // time goes on
		i := 0
		assert.Equal(t, want, run(func() signal.Time { i++; return signal.Time(cuts[i%len(cuts)]) }))
	})
}

// FuzzRun plays edges of chance: each three bytes are a line with a level and
// the time since the edge before.
func FuzzRun(f *testing.F) {
	f.Add([]byte{})
	f.Add([]byte{0x81, 0, 0, 0x01, 0x10, 0x00, 0x8B, 1, 2, 0x0B, 0, 255})
	f.Fuzz(func(t *testing.T, data []byte) {
		s := board.Bramble()
		s.UndersteerGradient = -0.0028
		b, err := board.NewBuiltIn(s, layout(), 7)
		require.NoError(t, err)
		at := signal.Time(0)
		var in []signal.Edge
		for ; len(data) >= 3; data = data[3:] {
			at += signal.Time(data[1])<<16 | signal.Time(data[2])<<8
			in = append(in, signal.Edge{At: at, Line: signal.Line(data[0] & 15), Level: data[0]&0x80 != 0})
		}
		out, err := b.Run(in, at+10*ms, nil)
		require.NoError(t, err)
		for i, e := range out {
			if i > 0 && e.At < out[i-1].At || e.At > at+10*ms {
				t.Fatalf("edge %d at %v", i, e.At)
			}
		}
	})
}

func TestEdgesOfUnknownLinesAreErrors(t *testing.T) {
	b, err := board.NewBuiltIn(board.Bramble(), layout(), 7)
	require.NoError(t, err)
	_, err = b.Run([]signal.Edge{{At: ms, Line: 99}}, ms, nil)
	assert.ErrorContains(t, err, "edge at 0.001 s on line 99")
}
