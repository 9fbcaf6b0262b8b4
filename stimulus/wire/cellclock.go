package wire

import (
	"fmt"

	"hilrig/rig/signal"
)

// CellClock is the clock of a 24-bit converter for a load cell on two wires, which the rig
// plays. When the converter has pulled its data line low, a readout of 25 to 27 pulses
// is due: at each rise the converter puts out the next bit, the most significant first, from the 25th
// on it lets the line go high, and how many there were selects the gain of the next
// conversion. A clock that stays high for more than 50 us switches the converter off, and it starts
// anew when the clock is low again.
//
// Sources: from memory, data sheets of such converters.
type CellClock struct {
	line      [1]signal.Line
	clocks    int
	high, low signal.Time
}

// The limits of a readout.
const (
	leastClocks, mostClocks = 25, 27
	pulseWidth              = signal.Microsecond       // where nothing is set
	leastPulse              = 200 * signal.Nanosecond  // high or low
	mostHigh                = 40 * signal.Microsecond  // clear of the 50 us at which the converter goes off
	mostLow                 = 100 * signal.Microsecond // a readout has to end long before the next conversion
)

// NewCellClock returns the clock of readouts of so many pulses, 25 to 27, each high for 1 us and
// then low for 1 us. The error says what is out of range.
func NewCellClock(clocks int, line signal.Line) (*CellClock, error) {
	if clocks < leastClocks || clocks > mostClocks {
		return nil, fmt.Errorf("readout of %d clocks; write %d to %d", clocks, leastClocks, mostClocks)
	}
	return &CellClock{line: [1]signal.Line{line}, clocks: clocks, high: pulseWidth, low: pulseWidth}, nil
}

// SetWidths sets for how long each pulse is high, 200 ns to 40 us, and then low, 200 ns to
// 100 us: as short as whoever plays them, and whoever stamps the answer, can keep apart.
func (c *CellClock) SetWidths(high, low signal.Time) error {
	switch {
	case high < leastPulse || high > mostHigh:
		return fmt.Errorf("clock pulse high for %v; write %v to %v", high, leastPulse, mostHigh)
	case low < leastPulse || low > mostLow:
		return fmt.Errorf("clock pulse low for %v; write %v to %v", low, leastPulse, mostLow)
	}
	c.high, c.low = high, low
	return nil
}

// Clocks returns how many pulses a readout has.
func (c *CellClock) Clocks() int { return c.clocks }

// Line returns the line of the clock.
func (c *CellClock) Line() signal.Line { return c.line[0] }

// Length returns how long a readout takes, from its first edge to the end of its last low.
func (c *CellClock) Length() signal.Time { return signal.Time(c.clocks) * (c.high + c.low) }

// Append appends the edges of one readout, the first at at, and returns the extended slice.
// The line has to be low before, and the converter ready.
func (c *CellClock) Append(dst []signal.Edge, at signal.Time) []signal.Edge {
	for range c.clocks {
		dst = append(dst,
			signal.Edge{At: at, Line: c.line[0], Level: true},
			signal.Edge{At: at + c.high, Line: c.line[0]})
		at += c.high + c.low
	}
	return dst
}
