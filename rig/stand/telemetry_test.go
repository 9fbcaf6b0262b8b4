package stand

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig/signal"
)

// bytes receives 8N1 at 115200 baud: from the edge of a start bit it samples the middle of each bit.
func bytes(t *testing.T, edges []signal.Edge, until signal.Time) (data []byte, at []signal.Time) {
	i := 0
	level := func(when signal.Time) bool {
		for i+1 < len(edges) && edges[i+1].At <= when {
			i++
		}
		return edges[i].Level
	}
	for i < len(edges) {
		start, b := edges[i].At, byte(0)
		if start+signal.Millisecond/10 > until {
			break
		}
		require.False(t, edges[i].Level)
		for bit := range 8 {
			if level(start + signal.FromSeconds((float64(bit)+1.5)/115200)) {
				b |= 1 << bit
			}
		}
		end := start + signal.FromSeconds(9.5/115200)
		require.True(t, level(end), "the stop bit")
		data, at = append(data, b), append(at, start)
		for i < len(edges) && edges[i].At <= end {
			i++
		}
	}
	return data, at
}

// The catalogue of parametrised CRC algorithms has F4 for CRC-8/SMBUS over "123456789" (READ); the others
// by two other implementations (CALC).
func TestChecksum(t *testing.T) {
	assert.EqualValues(t, 0xF4, checksum([]byte("123456789")))
	assert.EqualValues(t, 0xBC, checksum([]byte{1, 2, 3, 4, 5}))
	assert.EqualValues(t, 0xCA, checksum([]byte{0xDE, 0xAD, 0xBE, 0xEF}))
	assert.EqualValues(t, 0x00, checksum(nil))
}

func TestTelemetrySaysWhatIs(t *testing.T) {
	for _, phase := range []bool{false, true} {
		w := newWorld(t, "linear", func(s *Settings) {
			s.Held, s.Telemetry.Phase, s.Telemetry.Noise = Held{Kind: AtSpeed, Speed: 120}, phase, 0
		}).arm().hold(0.6, 2*signal.Second)
		last := w.of(signal.ESCTelemetry)
		for i := range last { // the last whole frame
			if last[i].At > w.now-30*signal.Millisecond {
				last = last[i:]
				break
			}
		}
		data, at := bytes(t, last, w.now)
		require.GreaterOrEqual(t, len(data), 10)
		assert.InDelta(t, 10/115200., (at[1] - at[0]).Seconds(), 1e-8)
		f := data[:10]
		require.Equal(t, checksum(f[:9]), f[9])
		word := func(i int) float64 { return float64(f[i])*256 + float64(f[i+1]) }
		truth := w.stand.Truth()
		voltage, current := truth.Supply(0.6, 120, Up)
		if phase {
			current = truth.Current(0.6, 120, Up)
		}
		assert.InDelta(t, ambient, float64(f[0]), 3)
		assert.InDelta(t, voltage, word(1)/100, 0.006)
		assert.InDelta(t, current, word(3)/100, 0.006)
		assert.InDelta(t, 120*7*60/6.283185/100, word(7), 0.6, "hundreds of electrical turns in a minute")
		if !phase {
			assert.InDelta(t, current*2/3.6, word(5), 0.15*current*2/3.6+1, "mA h")
		}
	}
}

func TestFramesAreDroppedAndCorrupted(t *testing.T) {
	count := func(name string) (good, bad int) {
		w := newWorld(t, name).hold(0, 20*signal.Second+10*signal.Millisecond)
		data, at := bytes(t, w.of(signal.ESCTelemetry), w.now)
		for i := 0; i+10 <= len(data); i += 10 {
			if i > 0 {
				require.GreaterOrEqual(t, at[i]-at[i-1], 10*signal.Millisecond, "a rest between frames")
			}
			if checksum(data[i:i+9]) == data[i+9] {
				good++
			} else {
				bad++
			}
		}
		return good, bad
	}
	good, bad := count("linear")
	assert.Equal(t, 1000, good)
	assert.Zero(t, bad)
	good, bad = count("dropping_telemetry")
	// 1000 frames, of which 40 % are dropped and 10 % of the rest are wrong; four standard deviations.
	assert.InDelta(t, 540, good, 4*16)
	assert.InDelta(t, 60, bad, 4*8)
}
