package moment

import (
	"math"

	"hilrig/rig/signal"
)

// A frame is 16 bits at 300 kbit/s: 11 of the value, one that asks for nothing, 4 of a checksum. A
// one is high for three quarters of a bit, a zero for three eighths.
const (
	frameBits = 16
	frameRate = 300_000 // bits per second
	zeroHigh  = 1250 * signal.Nanosecond
	oneHigh   = 2500 * signal.Nanosecond

	stopValue  = 0
	leastValue = 48
	mostValue  = 2047
)

// frames sends one frame to each motor at a time.
type frames struct {
	edge  [2 * 4 * frameBits]signal.Edge
	n, at int
	turn  int64
}

// send puts out a frame to each motor, all from the same time on. The last ones
// have gone out long since: a frame takes 54 us.
func (f *frames) send(at signal.Time, s *Settings, motor [4]signal.Line, command [4]float64) {
	var word [4]uint16
	for i, c := range command {
		word[i] = wordOf(c)
	}
	f.turn++
	f.n, f.at = 0, 0
	if f.turn%40 == 0 && s.has(frameCorrupt) {
		word[rearLeft] ^= 1
	}
	var silent [4]bool
	silent[rearLeft] = f.turn%40 == 0 && s.has(frameDropped)
	for bit := range frameBits {
		start := at + signal.Time(int64(bit)*int64(signal.Second)/frameRate)
		for _, phase := range [3]struct {
			at   signal.Time
			rise bool
		}{{0, true}, {zeroHigh, false}, {oneHigh, false}} {
			for i, line := range motor {
				if silent[i] || !phase.rise && phase.at != highOf(word[i], bit) {
					continue
				}
				f.edge[f.n] = signal.Edge{At: start + phase.at, Line: line, Level: phase.rise}
				f.n++
			}
		}
	}
}

// highOf returns for how long the line is high in a bit of the word, the first being bit 0.
func highOf(word uint16, bit int) signal.Time {
	if word>>(frameBits-1-bit)&1 == 1 {
		return oneHigh
	}
	return zeroHigh
}

// wordOf returns the 16 bits that stand for a command, a share: 0 is stop, the rest of the range
// is 48 to 2047.
func wordOf(command float64) uint16 {
	value := uint16(stopValue)
	if command > 0 {
		value = leastValue + uint16(math.Round(min(command, 1)*(mostValue-leastValue)))
	}
	word := value << 1
	return word<<4 | (word^word>>4^word>>8)&0x0F
}

// due returns when the next edge goes out.
func (f *frames) due() signal.Time {
	if f.at == f.n {
		return never
	}
	return f.edge[f.at].At
}

// pop takes the next edge.
func (f *frames) pop() signal.Edge {
	f.at++
	return f.edge[f.at-1]
}
