package rig_test

import (
	"math/bits"
	"testing"

	"github.com/stretchr/testify/require"

	"hilrig/rig/signal"
	"hilrig/rig/trace"
)

// counter counts the edges of an incremental encoder whose lines rest low: quarter
// lines, positive where A leads B. Edges of the same time are one change. A change of
// both lines, and an edge to the level that its line has already, are illegal.
type counter struct {
	a, b           signal.Line
	at             signal.Time // of the change that is not counted yet
	state, next    uint8       // A<<1 | B, before that change and after it
	repeats        bool        // it has an edge to the same level
	count, illegal int64
}

func (c *counter) edge(e signal.Edge) {
	bit := map[signal.Line]uint8{c.a: 2, c.b: 1}[e.Line]
	if bit == 0 {
		return
	}
	if e.At > c.at {
		c.settle()
		c.at = e.At
	}
	c.repeats = c.repeats || c.next&bit != 0 == e.Level
	c.next &^= bit
	if e.Level {
		c.next |= bit
	}
}

// settle counts the last change.
func (c *counter) settle() {
	place := [4]int64{0b00: 0, 0b10: 1, 0b11: 2, 0b01: 3}
	switch step := (place[c.next] - place[c.state]) & 3; {
	case step == 2 || c.repeats:
		c.illegal++
	case step == 3:
		c.count--
	default:
		c.count += step
	}
	c.state, c.repeats = c.next, false
}

// bytesOn reads the bytes of a port from the edges of its line: levels in the middle of
// each bit, counted from the edge of the start bit. None may be corrupt.
func bytesOn(t testing.TB, p signal.PortSpec, edges []signal.Edge) (frames []trace.Frame) {
	t.Helper()
	n := 10
	if p.Parity != signal.NoParity {
		n++
	}
	if p.StopBits == 2 {
		n++
	}
	for i := 0; i < len(edges); {
		start := edges[i].At
		after := func(bits float64) signal.Time {
			return start + signal.FromSeconds(bits/float64(p.Baud))
		}
		require.Equal(t, p.Inverted, edges[i].Level, "a byte at %v begins with a start bit", start)
		word := uint(0)
		for bit := range n {
			for i+1 < len(edges) && edges[i+1].At < after(float64(bit)+0.5) {
				i++
			}
			if edges[i].Level != p.Inverted {
				word |= 1 << bit
			}
		}
		i++
		data := word >> 1 & 0xFF
		require.Zero(t, word&1, "start bit at %v", start)
		switch ones := bits.OnesCount(word >> 1 & 0x1FF); p.Parity {
		case signal.EvenParity:
			require.Zero(t, ones&1, "parity of the byte at %v", start)
		case signal.OddParity:
			require.Equal(t, 1, ones&1, "parity of the byte at %v", start)
		}
		stops := max(1, p.StopBits)
		require.Equal(t, uint(1)<<stops-1, word>>(n-stops), "stop bits of the byte at %v", start)
		frames = append(frames, trace.Frame{Start: start, End: after(float64(n)), Value: float64(data)})
	}
	return frames
}
